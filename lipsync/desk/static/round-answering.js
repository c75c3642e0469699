// Saves the answers of a round, one after the other, and takes them back.

import { announce } from "./dom.js";
import { findIn } from "./round-lines.js";

export class Answering {
  constructor(round) {
    this.round = round;
    this.last = Promise.resolve();
    this.given = []; // {item, name, steps, version}, for undo
    this.counts = new Map();
  }

  /** Answer the present doubt: `make` returns the changes, `name` is the answer's; the next doubt comes at once. */
  answer(make, name, since) {
    const { round } = this;
    const { item, line } = round.asked ?? {};
    if (!item) return;
    round.queue.done();
    const entry = { item, name, steps: 0, version: null };
    this.given.push(entry);
    line.pending += 1;
    this.last = this.last.then(async () => {
      const why = await this.#kept(line, item, make, entry);
      line.pending -= 1;
      if (why === "") this.#count(name, 1);
      else this.#refused(entry, why);
      round.dispatchEvent(new Event("counted"));
    });
    round.ask(since);
  }

  /** Make the changes; returns an empty text if they were made, else the reason; null if the page shows it already. */
  async #kept(line, item, make, entry) {
    const { model, editor } = line;
    const where = findIn(model, item);
    if (!where) return "It is no doubt any more; look at it as it stands.";
    const changes = make(model, where);
    if (typeof changes === "string") return changes;
    for (const change of changes) {
      const before = model.view.version;
      if (!(await editor.change(change))) return null;
      entry.steps += model.view.version !== before;
    }
    entry.version = model.view.version;
    return "";
  }

  #refused(entry, why) {
    const { round } = this;
    this.given = this.given.filter((one) => one !== entry);
    const isGone = why?.startsWith("It is no doubt");
    if (why) round.say(why);
    if (isGone) return;
    round.queue.back(entry.item);
    round.ask();
  }

  #count(name, by) {
    this.counts.set(name, (this.counts.get(name) ?? 0) + by);
  }

  /** How many doubts were answered. */
  get count() {
    return [...this.counts.values()].reduce((sum, count) => sum + count, 0);
  }

  /** Take the last answer back, and ask that doubt again. */
  undo() {
    this.last = this.last.then(async () => {
      const { round } = this;
      const entry = this.given.pop();
      if (!entry) {
        announce("nothing to undo in this round");
        return;
      }
      const line = await round.lines.get(entry.item.line);
      if (line.model.view.version !== entry.version) {
        round.say(`Line ${entry.item.line} was changed since; undo it on its own page.`);
        return;
      }
      for (let step = 0; step < entry.steps; step += 1) {
        if (!(await line.editor.undo())) return;
      }
      this.#count(entry.name, -1);
      round.queue.back(entry.item);
      announce(`undone: ${entry.name}`);
      round.ask();
    });
  }
}
