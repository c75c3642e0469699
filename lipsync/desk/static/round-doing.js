// What a person can do in a round: the same for keys and buttons.

import { announce } from "./dom.js";
import * as answers from "./round-answers.js";

const SPEEDS = [1, 0.75, 0.5];

export class RoundDoing extends EventTarget {
  constructor(round) {
    super();
    this.round = round;
    this.moved = null; // {starts, ends}: the new times of the doubt, not saved yet
  }

  #answer(make, name, at) {
    this.moved = null;
    this.round.answering.answer(make, name, at ?? performance.now());
  }

  get isVoice() {
    return this.round.asked !== null && !this.round.asked.item.text;
  }

  right(at) {
    this.#answer(answers.right, "right", at);
  }

  notSaid(at) {
    this.#answer(answers.notSaid, "not said", at);
  }

  /** Answer with the words that were typed; with `plain` the desk does not listen for them. */
  typed(text, { more, plain }) {
    if (more && !this.isVoice) this.#answer(answers.moreWords(text, !plain), "voice without text");
    else this.#answer(answers.otherWords(text, !plain), this.isVoice ? "voice without text" : "other word");
  }

  otherWord() {
    this.dispatchEvent(new CustomEvent("type", { detail: { more: this.isVoice } }));
  }

  moreWords() {
    this.dispatchEvent(new CustomEvent("type", { detail: { more: true } }));
  }

  cue(index, at) {
    const { asked } = this.round;
    const name = asked?.line.model.mouthSet.cues[index];
    if (!name || !this.isVoice) announce(this.isVoice ? "there is no such cue" : "only voice without text can be a cue here");
    else this.#answer(answers.isCue(name), "cue", at);
  }

  /** Move the start or the end of the doubt by frames; `enter` saves it. */
  move(end, frames) {
    const { round } = this;
    const { where } = round;
    if (where?.part === undefined) {
      announce("give this voice its words, then move them on the page of the line");
      return;
    }
    const { model, sheet } = round.asked.line;
    const boundary = end === "starts" ? 0 : model.times(where.part).length - 1;
    const now = this.moved?.[end] ?? model.times(where.part)[boundary];
    const to = model.frameUs(model.rate.nearest(model.view.begins_us + now) + frames);
    round.player.stop();
    const us = model.drag(where.part, boundary, to);
    this.moved = { starts: null, ends: null, ...this.moved, [end]: us };
    sheet.bring(sheet.y(us));
    round.player.grain(us);
    announce(`${end} at ${(us / 1e6).toFixed(3)} s`);
  }

  enter(at) {
    const { round, moved } = this;
    if (moved) {
      round.asked?.line.model.drag(0, 0, null);
      this.#answer(answers.moved(moved), "moved", at);
    } else if (!round.asked && round.queue.later.length) round.askLater();
  }

  letBe() {
    if (!this.moved) return;
    this.moved = null;
    this.round.asked?.line.model.drag(0, 0, null);
    announce("left where it was");
  }

  later(at, line = false) {
    this.letBe();
    this.round.later(at ?? performance.now(), line);
  }

  again() {
    const { player } = this.round;
    if (player.playing) player.stop();
    else this.round.again();
  }

  alone() {
    this.round.alone();
  }

  slower() {
    const { player } = this.round;
    player.speed = SPEEDS[(SPEEDS.indexOf(player.speed) + 1) % SPEEDS.length];
    announce(`${player.speed * 100} percent of the speed`);
    this.round.again();
  }

  /** Open the page of the line at this doubt; the browser's Back returns to the round. */
  open() {
    const { asked } = this.round;
    if (asked) location.hash = `#/line/${encodeURIComponent(asked.line.id)}?us=${asked.item.start_us}`;
  }

  undo() {
    this.letBe();
    this.round.answering.undo();
  }
}
