// What a person can do with a line: the same for keys, buttons and touch.

import { Refused, ask } from "./api.js";
import { announce } from "./dom.js";
import { seconds } from "./frames.js";
import { beside } from "./places.js";
import { boundaryName } from "./saying.js";

const SPEEDS = [1, 0.75, 0.5, 0.25];
export const FINE_US = 5000;

export class Doing extends EventTarget {
  constructor(model, player, editor, sheet) {
    super();
    Object.assign(this, { model, player, editor, sheet });
  }

  play() {
    const { player } = this;
    if (player.playing) player.stop();
    else player.play(player.atUs >= player.durationUs - 1000 ? 0 : player.atUs);
  }

  /** Play the chosen word, or the one that is heard now, over and over. */
  loop() {
    const { model, player } = this;
    if (player.playing?.loop) {
      player.stop();
      return;
    }
    const span = model.chosen?.span ?? this.#spanOf(model.chosen?.part ?? model.partAt(player.positionUs));
    if (span) player.play(...span, true);
    else announce("no word is heard here");
  }

  #spanOf(index) {
    const part = this.model.parts[index];
    return part && [part.start_us, part.end_us];
  }

  setSpeed(speed) {
    const { player } = this;
    player.speed = speed;
    this.dispatchEvent(new Event("speed"));
    announce(`${Math.round(speed * 100)} percent of the speed`);
    const now = player.playing;
    if (!now) return;
    if (now.loop) player.play(now.fromUs, now.untilUs, true);
    else player.play(player.positionUs, now.untilUs);
  }

  get speeds() {
    return SPEEDS;
  }

  slower() {
    this.setSpeed(SPEEDS[(SPEEDS.indexOf(this.player.speed) + 1) % SPEEDS.length]);
  }

  step(frames) {
    this.sheet.step(this.sheet.frame + frames);
  }

  stepSecond(way) {
    this.step(way * this.model.rate.nominal);
  }

  toEdge(way) {
    const { model } = this;
    this.sheet.step(way < 0 ? model.frameAt(0) : model.frameAt(model.view.duration_us - 1));
  }

  /** Choose the next word or cue; with -1 the one before. */
  word(way) {
    const { model } = this;
    const from = model.chosen?.part ?? model.firstAfter(this.player.positionUs) - (way > 0 ? 1 : 0);
    if (model.parts[from + way]) this.choose({ part: from + way });
    else announce(way > 0 ? "no more" : "none before");
  }

  /** Choose the next doubt (a doubtful word, or voice without text); with -1 the one before. */
  doubt(way) {
    const { model } = this;
    const doubts = model.parts.flatMap((part, index) => (part.doubtful ? [{ us: part.start_us, chosen: { part: index } }] : []));
    doubts.push(...model.untold.map((span) => ({ us: span[0], chosen: { span } })));
    doubts.sort((one, other) => one.us - other.us);
    const { chosen } = model;
    const chosenUs = chosen?.span?.[0] ?? model.parts[chosen?.part]?.start_us;
    const from = chosenUs ?? this.player.positionUs - (way > 0 ? 1 : 0);
    const next = way > 0 ? doubts.find(({ us }) => us > from) : doubts.findLast(({ us }) => us < from);
    if (next) this.choose(next.chosen);
    else this.line(way, true);
  }

  /** Go to the next line of the list, with -1 to the one before; `doubtful`: to the first doubt of the next line with doubts. */
  async line(way, doubtful = false) {
    try {
      const list = await ask("/api/lines");
      const fits = doubtful ? ({ doubts }) => doubts > 0 : () => true;
      const next = beside(list, this.model.view.id, way, fits);
      if (next) location.hash = `#/line/${encodeURIComponent(next.id)}${doubtful ? `?doubt=${way}` : ""}`;
      else announce(`no ${doubtful ? "line with doubts" : "line"} ${way > 0 ? "after this one" : "before this one"}`);
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      announce(refused.message);
    }
  }

  phoneme(way) {
    this.#walk(way, "phoneme", (index) => this.model.parts[index].phonemes?.length ?? 0);
  }

  boundary(way) {
    this.#walk(way, "boundary", (index) => this.model.times(index).length);
  }

  #walk(way, name, count) {
    const { model } = this;
    let part = model.chosen?.part ?? Math.max(0, Math.min(model.parts.length - 1, model.firstAfter(this.player.positionUs)));
    let at = (model.chosen?.[name] ?? (way > 0 ? -1 : 1)) + way;
    while (model.parts[part] && (at < 0 || at >= count(part))) {
      part += way;
      if (model.parts[part]) at = way > 0 ? 0 : count(part) - 1;
    }
    if (model.parts[part]) this.choose({ part, [name]: at });
  }

  /** Choose something of the line, go there, and give it the focus. */
  choose(chosen) {
    const { model, sheet } = this;
    const us = chosen.span?.[0] ?? model.times(chosen.part)[chosen.phoneme ?? chosen.boundary ?? 0];
    sheet.go(us);
    model.choose(chosen);
    if (chosen.span) announce(`voice without text, frame ${model.number(model.rowOf(us))}`);
    else sheet.parts.focusChosen();
  }

  /** Move the chosen boundary by frames; finer by microseconds. */
  async nudge(frames, us = 0) {
    const { model, player } = this;
    const { chosen } = model;
    if (chosen?.part === undefined) {
      announce("choose a boundary first");
      return;
    }
    const boundary = chosen.boundary ?? chosen.phoneme ?? 0;
    const now = model.times(chosen.part)[boundary];
    const to = frames ? model.frameUs(model.rate.nearest(model.view.begins_us + now) + frames) : now + us;
    const [earliest, latest] = model.room(chosen.part, boundary);
    const there = Math.max(earliest, Math.min(latest, to));
    if (there === now) {
      announce("there is no room");
      return;
    }
    if (!(await this.editor.change({ kind: "move-boundary", part: chosen.part, boundary, to_us: there }))) return;
    announce(`${boundaryName(model, chosen.part, boundary)}, ${seconds(there)}`);
    this.sheet.go(there);
    player.grain(there);
  }

  /** Choose the frame that is heard now, so that its piece can be chosen. */
  piece() {
    this.model.choose({ frame: this.sheet.frame });
    this.dispatchEvent(new Event("to-panel"));
  }

  right() {
    const { chosen } = this.model;
    if (chosen?.span) this.editor.change({ kind: "nothing-said", start_us: chosen.span[0], end_us: chosen.span[1] });
    else if (chosen?.part === undefined) announce("choose a word first");
    else this.editor.change({ kind: "confirm-part", part: chosen.part });
  }

  async check(checked) {
    if (await this.editor.change({ kind: "set-checked", checked })) announce(checked ? "checked" : "not checked");
  }

  async undo() {
    const what = this.model.view.undo;
    if (await this.editor.undo()) announce(`undone: ${what}`);
  }

  async redo() {
    const what = this.model.view.redo;
    if (await this.editor.redo()) announce(`done again: ${what}`);
  }

  /** Open the fields for adding: in the silence that is heard now, else beside the chosen word. */
  add() {
    const { model, player } = this;
    const part = model.partAt(player.positionUs);
    model.choose(part < 0 ? null : { part: model.chosen?.part ?? part });
    this.dispatchEvent(new Event("to-add"));
  }

  /** Have the shot printed: its sheet, packet, chart or preview. */
  print(kind) {
    this.dispatchEvent(new CustomEvent("print", { detail: kind }));
  }

  toPanel() {
    this.dispatchEvent(new Event("to-panel"));
  }
}
