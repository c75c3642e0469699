// The doubts of a round: doubtful words and voice without text, in order; those left for later come last.

// The orders of a round: the word, and the function that compares two doubts.
export const ORDERS = {
  film: ["order of the film", () => 0],
  worst: ["the worst first", (one, other) => sureness(one) - sureness(other)],
};

// Voice without text counts like a word of confidence 0.
const sureness = ({ confidence }) => confidence ?? 0;

export const keyOf = ({ line, start_us, text }) => `${line} ${start_us} ${text}`;

export class Queue {
  /** `wanted` may name a scene, a character and an order. */
  constructor(doubts, wanted) {
    this.wanted = wanted;
    this.known = new Set();
    this.waiting = []; // the first is asked next
    this.later = [];
    this.add(doubts);
  }

  /** Add doubts that are not known yet. */
  add(doubts) {
    const { scene, character, order } = this.wanted;
    const fresh = doubts.filter(
      (one) => (!scene || one.scene === scene) && (!character || one.character === character) && !this.known.has(keyOf(one)),
    );
    for (const one of fresh) this.known.add(keyOf(one));
    this.waiting.push(...fresh);
    this.waiting.sort((ORDERS[order] ?? ORDERS.film)[1]); // equal ones keep their order
  }

  get now() {
    return this.waiting[0] ?? null;
  }

  /** How many are still to be asked, including those left for later. */
  get left() {
    return this.waiting.length + this.later.length;
  }

  /** Remove the present doubt. */
  done() {
    return this.waiting.shift();
  }

  /** Ask a doubt now: its answer was taken back, or could not be saved. */
  back(item) {
    this.later = this.later.filter((one) => one !== item);
    this.waiting = [item, ...this.waiting.filter((one) => one !== item)];
  }

  /** Leave the present doubt for later; with `line`, all doubts of its line. */
  postpone(line = false) {
    const { now } = this;
    const put = this.waiting.filter((one) => one === now || (line && one.line === now.line));
    this.waiting = this.waiting.filter((one) => !put.includes(one));
    this.later.push(...put);
    return put.length;
  }

  /** Begin with a given doubt, if it is in the queue. */
  beginWith(key) {
    const at = this.waiting.findIndex((one) => keyOf(one) === key);
    if (at > 0) this.waiting = [...this.waiting.slice(at), ...this.waiting.slice(0, at)];
  }

  /** Ask the doubts that were left for later. */
  askLater() {
    this.waiting.push(...this.later);
    this.later = [];
  }

  /** The lines of the next doubts, each once. */
  lines(count) {
    const found = new Set();
    for (const { line } of this.waiting) {
      found.add(line);
      if (found.size === count) break;
    }
    return [...found];
  }
}
