// Words, cues and phonemes on the sheet, each from where it begins to where it ends, and the boundaries between them.

import { draggable } from "./drag.js";
import { make } from "./dom.js";
import { seconds } from "./frames.js";
import { boundaryName } from "./saying.js";

const FILMED = "This is filmed: what is heard here stays as it is.";

export class PartsLayer {
  constructor(sheet, parent) {
    this.sheet = sheet;
    this.model = sheet.model;
    this.layer = make("div", { class: "parts" });
    parent.append(this.layer);
    this.shown = new Map();
    this.pools = { word: [], phoneme: [], boundary: [], untold: [] };
  }

  /** Show the words, cues and phonemes between two times. */
  render(fromUs, untilUs) {
    const { model } = this;
    const wanted = new Set();
    for (let index = model.firstAfter(fromUs); index < model.parts.length; index += 1) {
      if (model.parts[index].start_us > untilUs) break;
      this.#want(index, wanted);
    }
    model.untold.forEach(([start, end], index) => {
      if (end > fromUs && start < untilUs) this.#wantUntoldVoice(index, wanted);
    });
    const chosen = model.chosen?.part; // the chosen part stays in the page, so that the focus is not lost
    if (chosen !== undefined) this.#want(chosen, wanted);
    for (const [key, element] of this.shown) {
      if (wanted.has(key)) continue;
      this.shown.delete(key);
      element.hidden = true;
      this.pools[element.kind].push(element);
    }
    this.stale = false;
  }

  #want(index, wanted) {
    const { model } = this;
    const part = model.parts[index];
    if (!part) return;
    const times = model.times(index);
    const word = this.#element(`w${index}`, "word", wanted);
    if (word.fresh || this.stale) this.#fillWord(word, index, times);
    for (let k = 0; k < times.length; k += 1) {
      // The boundary of two parts that touch belongs to the second.
      if (k === times.length - 1 && model.shared(index, k) !== null) continue;
      const boundary = this.#element(`b${index}.${k}`, "boundary", wanted);
      if (boundary.fresh || this.stale) this.#fillBoundary(boundary, index, k, times[k]);
    }
    (part.phonemes ?? []).forEach(([symbol], k) => {
      const phoneme = this.#element(`p${index}.${k}`, "phoneme", wanted);
      if (phoneme.fresh || this.stale) this.#fillPhoneme(phoneme, { part: index, phoneme: k }, symbol, times);
    });
  }

  #wantUntoldVoice(index, wanted) {
    const span = this.model.untold[index];
    const element = this.#element(`u${index}`, "untold", wanted);
    if (!element.fresh && !this.stale) return;
    this.#place(element, ...span);
    element.span = span;
    element.textContent = "voice without text";
    element.classList.toggle("chosen", this.model.chosen?.span?.[0] === span[0]);
    element.setAttribute("aria-label", `voice without text, ${seconds(span[0])}, doubtful`);
  }

  #element(key, kind, wanted) {
    wanted.add(key);
    let element = this.shown.get(key);
    if (element) {
      element.fresh = false;
      return element;
    }
    element = this.pools[kind].pop() ?? this.#made(kind);
    element.hidden = false;
    element.fresh = true;
    this.shown.set(key, element);
    return element;
  }

  #made(kind) {
    const element =
      kind === "boundary"
        ? make("div", { class: "boundary", role: "separator", "aria-orientation": "horizontal", tabindex: "-1" })
        : make("button", { type: "button", class: kind, tabindex: "-1" });
    element.kind = kind;
    if (kind === "boundary") draggable(element, this.sheet);
    else element.addEventListener("click", () => this.#clicked(element));
    this.layer.append(element);
    return element;
  }

  #clicked(element) {
    const { model, sheet } = this;
    if (element.kind === "untold") {
      sheet.go(element.span[0]);
      model.choose({ span: element.span });
      return;
    }
    const start = model.times(element.at.part)[element.at.phoneme ?? 0];
    sheet.go(start);
    model.choose(element.at);
  }

  #place(element, startUs, endUs) {
    const top = this.sheet.y(startUs);
    element.style.transform = `translateY(${top}px)`;
    element.style.height = `${Math.max(2, this.sheet.y(endUs) - top)}px`;
  }

  #mark(element, at) {
    element.at = at;
    const { chosen } = this.model;
    const same = chosen && ["part", "phoneme", "boundary"].every((name) => chosen[name] === at[name]);
    element.classList.toggle("chosen", Boolean(same));
    element.tabIndex = same ? 0 : -1;
  }

  #fillWord(element, index, times) {
    const part = this.model.parts[index];
    this.#place(element, times[0], times.at(-1));
    element.textContent = part.kind === "cue" ? `[${part.text}]` : part.text;
    element.className = "word";
    element.classList.toggle("cue", part.kind === "cue");
    element.classList.toggle("doubtful", Boolean(part.doubtful));
    element.classList.toggle("corrected", part.corrected);
    const disagrees = part.corrected && this.model.disagreed.has(part.start_us);
    element.classList.toggle("disagrees", disagrees);
    this.#mark(element, { part: index });
    const notes = [part.doubtful && "doubtful", part.corrected && "corrected by hand", disagrees && "a later computation disagrees"].filter(Boolean);
    element.setAttribute("aria-label", [element.textContent, seconds(times[0]), ...notes].join(", "));
  }

  #fillPhoneme(element, at, symbol, times) {
    this.#place(element, times[at.phoneme], times[at.phoneme + 1]);
    element.className = "phoneme";
    element.textContent = symbol.replace(/\d$/, "");
    element.classList.toggle("stressed", symbol.endsWith("1"));
    element.classList.toggle("lost", this.#isLost(at, times));
    this.#mark(element, at);
    element.setAttribute("aria-label", `${symbol} in ${this.model.parts[at.part].text}, ${seconds(times[at.phoneme])}`);
  }

  #isLost({ phoneme }, times) {
    const { track, view } = this.model;
    const start = view.begins_us + times[phoneme];
    return Boolean(track?.lost.some((lost) => lost.line === view.id && lost.start_us === start));
  }

  #fillBoundary(element, part, boundary, us) {
    this.#mark(element, { part, boundary });
    element.style.transform = `translateY(${this.sheet.y(us)}px)`;
    const locked = this.model.isFilmed(us);
    element.classList.toggle("locked", locked);
    element.title = locked ? FILMED : "";
    element.classList.toggle("outer", boundary === 0 || boundary === this.model.times(part).length - 1);
    const [earliest, latest] = this.model.room(part, boundary);
    element.setAttribute("aria-label", boundaryName(this.model, part, boundary));
    element.setAttribute("aria-disabled", locked);
    element.setAttribute("aria-valuemin", Math.round(earliest / 1000));
    element.setAttribute("aria-valuemax", Math.round(latest / 1000));
    element.setAttribute("aria-valuenow", Math.round(us / 1000));
    element.setAttribute("aria-valuetext", seconds(us));
  }

  /** Give the focus to the chosen part or boundary. */
  focusChosen() {
    const { chosen } = this.model;
    if (chosen?.part === undefined) return;
    const key =
      chosen.boundary !== undefined
        ? `b${chosen.part}.${chosen.boundary}`
        : chosen.phoneme !== undefined
          ? `p${chosen.part}.${chosen.phoneme}`
          : `w${chosen.part}`;
    this.shown.get(key)?.focus({ preventScroll: true });
  }
}
