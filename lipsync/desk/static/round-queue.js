// What is to be asked in a round: doubtful words and voice without text, in order, those left for later at the end.

// Of each way to order a round: the word, and what puts one doubt before another.
export const ORDERS = {
  film: ["order of the film", () => 0],
  worst: ["the worst first", (one, other) => sureness(one) - sureness(other)],
};

// Voice without text is as bad as a word that is not there at all.
const sureness = ({ confidence }) => confidence ?? 0;

export const keyOf = ({ line, start_us, text }) => `${line} ${start_us} ${text}`;

export class Queue {
  /** `wanted` may name a scene, a character and an order. */
  constructor(doubts, wanted) {
    this.wanted = wanted;
    this.known = new Set();
    this.waiting = []; // asked next is the first
    this.later = [];
    this.add(doubts);
  }

  /** Take in doubts that are not known yet. */
  add(doubts) {
    const { scene, character, order } = this.wanted;
    const fresh = doubts.filter(
      (one) => (!scene || one.scene === scene) && (!character || one.character === character) && !this.known.has(keyOf(one)),
    );
    for (const one of fresh) this.known.add(keyOf(one));
    this.waiting.push(...fresh);
    this.waiting.sort((ORDERS[order] ?? ORDERS.film)[1]); // what is alike stays in its order
  }

  get now() {
    return this.waiting[0] ?? null;
  }

  /** How many are still to be asked, those for later among them. */
  get left() {
    return this.waiting.length + this.later.length;
  }

  /** Take out the one that is asked now. */
  done() {
    return this.waiting.shift();
  }

  /** Ask one now: an answer to it was taken back, or could not be kept. */
  back(item) {
    this.later = this.later.filter((one) => one !== item);
    this.waiting = [item, ...this.waiting.filter((one) => one !== item)];
  }

  /** Leave for later the one that is asked now; with `line`, all of its line. */
  postpone(line = false) {
    const { now } = this;
    const put = this.waiting.filter((one) => one === now || (line && one.line === now.line));
    this.waiting = this.waiting.filter((one) => !put.includes(one));
    this.later.push(...put);
    return put.length;
  }

  /** Begin with one of them, if it is there. */
  beginWith(key) {
    const at = this.waiting.findIndex((one) => keyOf(one) === key);
    if (at > 0) this.waiting = [...this.waiting.slice(at), ...this.waiting.slice(0, at)];
  }

  /** Ask those that were left for later. */
  askLater() {
    this.waiting.push(...this.later);
    this.later = [];
  }

  /** The lines that are asked about next, each once. */
  lines(count) {
    const found = new Set();
    for (const { line } of this.waiting) {
      found.add(line);
      if (found.size === count) break;
    }
    return [...found];
  }
}
