// A line on the page: what the desk said of it, its place on the sheet, what is chosen. It sends an event with each change:
// "line" (words, pieces), "track" (the piece on each frame), "chosen", "draft" (while a boundary is being dragged).

import { Rate } from "./frames.js";

const BEFORE = 2; // rows shown before the line begins: the mouth is ahead of its sound
const AFTER = 4;
export const LEAST_US = 1000; // no phoneme is made shorter: the same value as in breakdown/laying.py

export class LineModel extends EventTarget {
  constructor(production, view) {
    super();
    this.production = production;
    this.rate = new Rate(production.rate);
    this.chosen = null;
    this.draft = null;
    this.track = null;
    this.#take(view);
  }

  /** Take the state of the line that the desk sent. */
  set(view) {
    this.#take(view);
    this.draft = null;
    if (this.chosen && !this.#exists(this.chosen)) this.chosen = null;
    this.dispatchEvent(new Event("line"));
    this.dispatchEvent(new Event("chosen"));
  }

  #take(view) {
    this.view = view;
    this.parts = view.parts ?? [];
    this.untold = view.untold ?? [];
    const ends = view.begins_us + (view.duration_us ?? 0);
    const [first, last] = [this.rate.frameAt(view.begins_us), this.rate.frameAt(Math.max(view.begins_us, ends - 1))];
    this.firstRow = Math.max(Math.min(0, first), first - BEFORE);
    this.lastRow = Math.min(Math.max(view.frames - 1, last), last + AFTER);
    this.filmed = new Set(view.filmed);
    this.disagreed = new Set((view.disagreements ?? []).map(({ at_us }) => at_us));
    this.put = new Map();
    this.forbidden = new Map();
    for (const choice of view.pieces ?? []) {
      if (choice.forbidden) this.forbidden.set(choice.frame, [...(this.forbidden.get(choice.frame) ?? []), choice.code]);
      else this.put.set(choice.frame, choice.code);
    }
  }

  setTrack(track) {
    this.track = track;
    this.fitted = new Set(track?.fitted ?? []);
    this.dispatchEvent(new Event("track"));
  }

  get character() {
    return this.production.characters[this.view.character];
  }

  get mouthSet() {
    return this.production.mouth_sets[this.character.mouth_set];
  }

  get rows() {
    return this.lastRow - this.firstRow + 1;
  }

  /** The place of a time of the line on the sheet, in rows from its top. */
  place(us) {
    return this.rate.place(this.view.begins_us + us) - this.firstRow;
  }

  /** The time of the line at a place on the sheet. */
  usAt(place) {
    return Math.round(((place + this.firstRow) * this.rate.denominator * 1e6) / this.rate.numerator - this.view.begins_us);
  }

  /** The frame of the shot that is seen at a time of the line. */
  frameAt(us) {
    return this.rate.frameAt(this.view.begins_us + us);
  }

  /** The frame on whose row the printed sheet has what begins at a time of the line: the one whose start is nearest. */
  rowOf(us) {
    return Math.max(0, this.rate.nearest(this.view.begins_us + us));
  }

  /** The time of the line at which a frame begins. */
  frameUs(frame) {
    return this.rate.startUs(frame) - this.view.begins_us;
  }

  /** A time moved to the start of the nearest frame. */
  snapped(us) {
    return this.rate.startUs(this.rate.nearest(this.view.begins_us + us)) - this.view.begins_us;
  }

  /** The number that the production gives a frame. */
  number(frame) {
    return frame + this.production.first_frame;
  }

  /** Whether a time of the line is on a filmed frame: what is heard there cannot be changed. */
  isFilmed(us) {
    return this.filmed.has(this.frameAt(us));
  }

  /** Whether any frame on which a part is heard is filmed. */
  isPartFilmed(index) {
    const [first, last] = [this.frameAt(this.parts[index].start_us), this.frameAt(this.parts[index].end_us - 1)];
    for (let frame = first; frame <= last; frame += 1) if (this.filmed.has(frame)) return true;
    return false;
  }

  /** The piece on a frame; null off camera, undefined if nothing is planned yet. */
  piece(frame) {
    return frame < 0 ? undefined : this.track?.pieces[frame];
  }

  /** Boundaries of a part: its start, the end of each phoneme. */
  times(index) {
    const part = this.parts[index];
    const inner = part.kind === "word" ? part.phonemes.map(([, , end]) => end) : [part.end_us];
    const times = [part.start_us, ...inner];
    const { draft } = this;
    if (draft) {
      if (draft.part === index) times[draft.boundary] = draft.us;
      else if (draft.shared === index) times[draft.shared < draft.part ? times.length - 1 : 0] = draft.us;
    }
    return times;
  }

  /** The part that shares a boundary and moves with it; null if none does. The same as in desk/boundaries.py. */
  shared(part, boundary) {
    const times = this.times(part);
    if (boundary > 0 && boundary < times.length - 1) return null;
    const beside = boundary === 0 ? part - 1 : part + 1;
    if (!this.parts[beside]) return null;
    const theirs = this.times(beside);
    return (boundary === 0 ? theirs.at(-1) : theirs[0]) === times[boundary] ? beside : null;
  }

  /** The earliest and latest place to which a boundary can go. The same as in desk/boundaries.py. */
  room(part, boundary) {
    const times = this.times(part);
    const shared = this.shared(part, boundary);
    let earliest = this.parts[part - 1]?.end_us ?? 0;
    let latest = this.parts[part + 1]?.start_us ?? this.view.duration_us;
    if (boundary > 0) earliest = times[boundary - 1] + LEAST_US;
    else if (shared !== null) earliest = this.times(shared).at(-2) + LEAST_US;
    if (boundary < times.length - 1) latest = times[boundary + 1] - LEAST_US;
    else if (shared !== null) latest = this.times(shared)[1] - LEAST_US;
    return [earliest, latest];
  }

  /** Show a boundary at another place while it is dragged; null ends that. Returns the place where it is shown. */
  drag(part, boundary, us) {
    this.draft = null;
    if (us !== null) {
      const shared = this.shared(part, boundary);
      const [earliest, latest] = this.room(part, boundary);
      this.draft = { part, boundary, shared, us: Math.max(earliest, Math.min(latest, us)) };
    }
    this.dispatchEvent(new Event("draft"));
    return this.draft?.us ?? null;
  }

  choose(chosen) {
    this.chosen = chosen;
    this.dispatchEvent(new Event("chosen"));
  }

  #exists({ part, phoneme, boundary, span }) {
    if (span) return this.untold.some(([start, end]) => start === span[0] && end === span[1]);
    if (part === undefined) return true;
    const there = this.parts[part];
    if (!there) return false;
    if (phoneme !== undefined) return there.kind === "word" && phoneme < there.phonemes.length;
    return boundary === undefined || boundary < this.times(part).length;
  }

  /** The part that is heard at a time; -1 in silence. */
  partAt(us) {
    return this.parts.findIndex((part) => part.start_us <= us && us < part.end_us);
  }

  /** The stretch of voice without text that is heard at a time; undefined if none is. */
  untoldAt(us) {
    return this.untold.find(([start, end]) => start <= us && us < end);
  }

  /** The index of the first part that ends after a time. */
  firstAfter(us) {
    let [low, high] = [0, this.parts.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.parts[middle].end_us <= us) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}
