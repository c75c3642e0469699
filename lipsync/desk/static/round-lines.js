// The lines of a round: each with its words, its sound and its sheet, loaded before it is asked about.

import { ask, bytes, ofLine } from "./api.js";
import { Editor } from "./editor.js";
import { LineModel } from "./model.js";
import "./sheet.js";

export class RoundLines {
  constructor(production, player) {
    Object.assign(this, { production, player });
    this.known = new Map(); // id -> a promise of it
    this.there = new Map();
  }

  /** Load lines, and forget the others, except those with something still to be saved. */
  keep(ids) {
    for (const id of ids) this.get(id).catch(() => {});
    for (const [id, line] of this.there) {
      if (ids.includes(id) || line.pending || line.editor.busy || line.editor.unsent) continue;
      line.editor.close();
      this.known.delete(id);
      this.there.delete(id);
    }
  }

  /** A line: {id, model, editor, sound, sheet}, and `pending`, how many of its answers are still being saved. */
  get(id) {
    if (!this.known.has(id)) {
      const loading = this.#load(id);
      this.known.set(id, loading);
      loading.catch(() => this.known.delete(id));
    }
    return this.known.get(id);
  }

  async #load(id) {
    const [view, wav] = await Promise.all([ask(ofLine(id)), bytes(ofLine(id, "/sound"))]);
    const model = new LineModel(this.production, view);
    const editor = new Editor(model, { pieces: false });
    const sheet = document.createElement("frame-sheet");
    sheet.editor = editor;
    const line = { id, model, editor, sheet, sound: await this.player.decoded(wav), pending: 0 };
    // If somebody changed the line meanwhile, its present state is shown, and a refused answer is asked for again.
    editor.addEventListener("conflict", ({ detail }) => detail.theirs && model.set(detail.theirs));
    this.there.set(id, line);
    return line;
  }

  close() {
    for (const { editor } of this.there.values()) editor.close();
  }
}

/** Find a doubt in a line as it stands now: {part} or {span}; null if it is no doubt any more. */
export function findIn(model, { start_us, end_us, text }) {
  if (!text) {
    const span = model.untold.find(([start, end]) => start < end_us && start_us < end);
    return span ? { span } : null;
  }
  let [best, least] = [null, Infinity];
  model.parts.forEach((part, index) => {
    const off = Math.abs(part.start_us - start_us);
    // A moved boundary of a neighbour may have shifted it a little; the same word far away is another doubt.
    if (part.doubtful && part.text === text && off < least && part.start_us < end_us && start_us < part.end_us) [best, least] = [{ part: index }, off];
  });
  return best;
}

/** The time from which to which a doubt is played: with two words before and one after, but without long silence. */
export function around(model, { start_us, end_us }) {
  const BEFORE_US = 1_500_000; // chosen: enough to hear how the words run together
  const AFTER_US = 800_000;
  const before = model.parts.filter((part) => part.end_us <= start_us).at(-2)?.start_us ?? 0;
  const after = model.parts.find((part) => part.start_us >= end_us)?.end_us ?? model.view.duration_us;
  return [Math.max(before, start_us - BEFORE_US, 0), Math.min(after, end_us + AFTER_US, model.view.duration_us)];
}
