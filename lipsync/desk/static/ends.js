// The ends of a line on its whole recording: `in` and `out`, dragged or moved by keys over the recording's level.
//
// Each edge is a slider (WAI-ARIA) as wide as a finger needs; the one of `in` lies left of its place, that of `out` right of
// it, so that neither covers the other. Times are microseconds from the recording's beginning, whole milliseconds.

import { Refused, ask, bytes, ofLine } from "./api.js";
import { make } from "./dom.js";
import { button, buttons } from "./fields.js";
import { seconds } from "./frames.js";
import { Player } from "./player.js";

const TARGET_PX = 24; // width of the area in which an edge can be grabbed (WCAG 2.2, 2.5.8)
const LEAST_US = 50_000; // least distance of the two edges (chosen: shorter than any word)
const ALL_AT_FIRST_US = 120_000_000; // of a longer recording, only the part around the line is shown at first (chosen)
const AROUND_US = 10_000_000;
const HEARD_US = 1_200_000; // how much is heard at an edge
const STEPS_US = { ArrowLeft: -10_000, ArrowRight: 10_000, ArrowDown: -10_000, ArrowUp: 10_000, PageDown: -1_000_000, PageUp: 1_000_000 };
const FINE = 10; // with Shift, a step is divided by this

/** Let a person set the ends of a line; `write` takes both and returns why they are impossible, or an empty text. */
export async function showEnds(model, { in_us, out_us }, write) {
  const path = (what, first, last) => ofLine(model.view.id, `/recording/${what}?first_us=${Math.round(first)}&last_us=${Math.round(last)}`);
  const whole = await ask(path("level", 0, 7_200_000_000));
  const ends = new Ends(whole.duration_us, in_us ?? 0, out_us ?? whole.duration_us);
  const player = new Player();
  const said = make("p", { role: "status" });
  const refused = make("p", { class: "doubt", role: "alert" });
  const canvas = make("canvas", { "aria-hidden": "true" });
  const [before, after] = ["before", "after"].map((place) => make("div", { class: `cut ${place}`, "aria-hidden": "true" }));
  const edges = ["in", "out"].map((name) => edgeOf(name));
  const strip = make("div", { class: "strip" }, canvas, before, after, edges.map(({ element }) => element));
  let level = whole;

  const told = (error) => {
    if (!(error instanceof Refused)) throw error;
    refused.textContent = error.message;
  };
  const hear = async (name) => {
    const at = ends[name];
    const [first, last] = name === "in" ? [at, Math.min(ends.out, at + HEARD_US)] : [Math.max(ends.in, at - HEARD_US), at];
    try {
      player.stop();
      await player.load(await bytes(path("sound", first, last)));
      if (dialog.open) player.play(0);
    } catch (error) {
      told(error);
    }
  };
  const place = () => {
    const width = strip.clientWidth - 2 * TARGET_PX;
    const x = (us) => TARGET_PX + ((us - ends.from) / (ends.until - ends.from)) * width;
    edges.forEach((edge, k) => {
      const us = ends[edge.name];
      edge.element.style.left = `${x(us) - (k === 0 ? TARGET_PX : 0)}px`;
      edge.element.hidden = us < ends.from || us > ends.until;
      edge.element.setAttribute("aria-valuenow", Math.round(us / 1000));
      edge.element.setAttribute("aria-valuetext", seconds(us));
      edge.element.setAttribute("aria-valuemax", Math.round(ends.duration / 1000));
    });
    before.style.width = `${Math.max(0, Math.min(width, x(ends.in) - TARGET_PX))}px`;
    after.style.left = `${Math.max(TARGET_PX, x(ends.out))}px`;
    after.style.width = `${Math.max(0, Math.min(width, TARGET_PX + width - x(ends.out)))}px`;
    said.textContent = `in ${seconds(ends.in)} · out ${seconds(ends.out)} of ${seconds(ends.duration)} · the line lasts ${seconds(ends.out - ends.in)}`;
  };
  const show = async () => {
    place();
    paint(canvas, strip.clientWidth - 2 * TARGET_PX, level, ends);
    const { from, until } = ends;
    try {
      const now = from === 0 && until === ends.duration ? whole : await ask(path("level", from, until));
      if (from !== ends.from || until !== ends.until) return;
      level = now;
      paint(canvas, strip.clientWidth - 2 * TARGET_PX, level, ends);
    } catch (error) {
      told(error);
    }
  };
  for (const edge of edges) {
    const { element, name } = edge;
    let offset = null;
    const usAt = (clientX) => {
      const { left, width } = strip.getBoundingClientRect();
      return ends.from + ((clientX - left - TARGET_PX) / (width - 2 * TARGET_PX)) * (ends.until - ends.from);
    };
    element.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      element.focus({ preventScroll: true });
      element.setPointerCapture(event.pointerId);
      offset = ends[name] - usAt(event.clientX);
      player.stop();
    });
    element.addEventListener("pointermove", (event) => {
      if (offset === null) return;
      ends.set(name, usAt(event.clientX) + offset);
      place();
    });
    element.addEventListener("pointerup", () => {
      if (offset !== null) hear(name);
      offset = null;
    });
    element.addEventListener("pointercancel", () => {
      offset = null;
    });
    element.addEventListener("focus", () => {
      ends.last = name;
    });
    element.addEventListener("keydown", (event) => {
      const step = STEPS_US[event.key];
      if (step === undefined && event.key !== "Home" && event.key !== "End" && event.key !== " ") return;
      event.preventDefault();
      event.stopPropagation();
      if (event.key === " ") hear(name);
      else ends.set(name, step === undefined ? (event.key === "Home" ? 0 : ends.duration) : ends[name] + step / (event.shiftKey ? FINE : 1));
      if (ends.bring(name)) show();
      else place();
    });
  }
  const zoom = (by) => {
    ends.zoom(by);
    show();
  };
  const send = async () => {
    refused.textContent = "";
    refused.textContent = await write(ends.written);
    if (!refused.textContent) dialog.close();
  };
  const dialog = make(
    "dialog",
    { class: "ends", "aria-label": "In and out on the whole recording" },
    make("h2", {}, `In and out of ${model.view.id}`),
    strip,
    said,
    make("p", { class: "quiet" }, "Drag the two edges, or move them by keys: ← → by 10 ms, with Shift by 1 ms, Page Up and Page Down by a second, Home and End to the ends of the recording. Space lets the edge be heard."),
    buttons(
      button("Closer", () => zoom(0.5)),
      button("Further away", () => zoom(2)),
      button("Hear where it begins", () => hear("in")),
      button("Hear where it ends", () => hear("out")),
    ),
    refused,
    buttons(button("Write them and listen", send, { class: "main" }), button("Let them be", () => dialog.close())),
  );
  const seen = new ResizeObserver(() => {
    place();
    paint(canvas, strip.clientWidth - 2 * TARGET_PX, level, ends);
  });
  const focused = document.activeElement;
  dialog.addEventListener("close", () => {
    seen.disconnect();
    player.stop();
    player.context?.close();
    dialog.remove();
    focused?.focus?.({ preventScroll: true });
  });
  document.body.append(dialog);
  dialog.showModal();
  seen.observe(strip);
  show();
  edges[0].element.focus();
}

function edgeOf(name) {
  const element = make("div", { class: `edge of-${name}`, role: "slider", tabindex: "0", "aria-label": name, "aria-valuemin": "0", "aria-orientation": "horizontal" });
  return { name, element };
}

/** The two ends, and the part of the recording that is in view; all in whole milliseconds of the recording. */
class Ends {
  constructor(duration, inUs, outUs) {
    Object.assign(this, { duration, in: inUs, out: outUs, last: "in", from: 0, until: duration });
    if (duration <= ALL_AT_FIRST_US) return;
    this.from = Math.max(0, inUs - AROUND_US);
    this.until = Math.min(duration, outUs + AROUND_US);
  }

  set(name, us) {
    const whole = Math.round(us / 1000) * 1000;
    if (name === "in") this.in = Math.max(0, Math.min(whole, this.out - LEAST_US));
    else this.out = Math.min(this.duration, Math.max(whole, this.in + LEAST_US));
  }

  /** What the scene's file will say; null for an end that is the recording's own. */
  get written() {
    return { in_us: this.in === 0 ? null : this.in, out_us: this.out >= this.duration ? null : this.out };
  }

  /** Show more or less, around the edge that was moved last. */
  zoom(by) {
    const length = Math.min(this.duration, Math.max(200_000, (this.until - this.from) * by));
    const middle = this[this.last];
    this.from = Math.max(0, Math.min(this.duration - length, middle - length / 2));
    this.until = this.from + length;
  }

  /** Bring an edge into view; returns whether the view moved. */
  bring(name) {
    if (this[name] >= this.from && this[name] <= this.until) return false;
    this.last = name;
    this.zoom(1);
    return true;
  }
}

/** Paint the level, as on the sheet but from left to right. */
function paint(canvas, width, level, { from, until }) {
  const ratio = window.devicePixelRatio || 1;
  const height = canvas.parentElement.clientHeight;
  Object.assign(canvas, { width: Math.max(1, Math.round(width * ratio)), height: Math.round(height * ratio) });
  canvas.style.width = `${Math.max(1, width)}px`;
  const context = canvas.getContext("2d");
  context.fillStyle = getComputedStyle(canvas).color;
  const { first_us, last_us, levels } = level;
  const column = (last_us - first_us) / levels.length;
  const scale = canvas.width / (until - from);
  levels.forEach((value, k) => {
    const x = (first_us + k * column - from) * scale;
    const high = Math.max(1, (value / 255) * canvas.height);
    context.fillRect(x, (canvas.height - high) / 2, Math.max(1, column * scale), high);
  });
}
