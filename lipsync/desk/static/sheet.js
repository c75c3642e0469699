// The sheet of a line: time runs down, one row a frame, as on paper. Only what is in view is in the page.
//
// The parts of it: rows (sheet-rows.js), words and phonemes (sheet-parts.js), level and spectrogram (spectrum.js), and
// the mouth, large, beside the row that is being heard.

import { announce, make } from "./dom.js";
import { mouthPicture, show } from "./mouth.js";
import { said } from "./saying.js";
import { PartsLayer } from "./sheet-parts.js";
import { RowsLayer } from "./sheet-rows.js";
import { Spectrum } from "./spectrum.js";

const MOUTH_PX = 200;
const READING_AT = 0.4; // while sound plays, its row stays at this part of the window's height
const HEADS = ["frame", "timecode", "level", "spectrogram", "word", "phoneme", "piece to fit"];

class FrameSheet extends HTMLElement {
  #themed = () => this.spectrum?.recolour();

  connectedCallback() {
    addEventListener("theme", this.#themed);
    this.#themed(); // it may have changed while the sheet was not on the page
  }

  disconnectedCallback() {
    removeEventListener("theme", this.#themed);
  }

  /** Show a line; `player` gives the time that is heard. */
  open(model, player) {
    this.model = model;
    this.player = player;
    this.spectrum = new Spectrum(model.view.id, () => this.render());
    this.#build();
    this.rowPx = this.rows.rowPx;
    for (const what of ["line", "track", "draft"]) model.addEventListener(what, () => this.refresh());
    model.addEventListener("chosen", () => this.refresh());
    new ResizeObserver(() => this.measure()).observe(this.scroller);
    this.measure();
    this.follow(player.positionUs);
  }

  #build() {
    this.canvas = make("canvas", { class: "ink", "aria-hidden": "true" });
    this.canvas.context = this.canvas.getContext("2d");
    this.height = make("div", { class: "height" }, this.canvas);
    this.scroller = make(
      "div",
      { class: "scroller", tabindex: "0", role: "group", "aria-label": "Sheet: arrows step by frame, space plays" },
      this.height,
    );
    const heads = HEADS.map((head) => make("span", { class: `head of-${head.split(" ")[0]}` }, head));
    this.replaceChildren(make("div", { class: "heads", "aria-hidden": "true" }, heads), this.scroller);
    this.rows = new RowsLayer(this, this.height);
    this.parts = new PartsLayer(this, this.height);
    this.picture = mouthPicture("large");
    this.worn = make("span", { class: "worn" });
    this.serves = make("span", { class: "serves" });
    this.mouth = make("div", { class: "mouth", "aria-hidden": "true" }, this.picture, make("p", {}, this.worn, this.serves));
    this.reading = make("div", { class: "reading", "aria-hidden": "true" });
    this.pointer = make("div", { class: "pointer", "aria-hidden": "true" });
    this.height.append(this.reading, this.pointer, this.mouth);
    this.scroller.addEventListener("scroll", () => this.render(), { passive: true });
  }

  /** Measure the window and the rows. */
  measure() {
    this.rows.measure();
    this.rowPx = this.rows.rowPx;
    this.height.style.height = `${this.model.rows * this.rowPx}px`;
    this.viewPx = this.scroller.clientHeight;
    const ratio = window.devicePixelRatio || 1;
    this.ratio = ratio;
    this.boxes = Object.fromEntries(
      ["level", "bands"].map((name) => {
        const style = getComputedStyle(this);
        const [x, width] = [`--${name}-x`, `--${name}-w`].map((part) => Number.parseFloat(style.getPropertyValue(part)));
        return [name, { x: x * ratio, width: width * ratio }];
      }),
    );
    const inkPx = (this.boxes.bands.x + this.boxes.bands.width) / ratio;
    this.canvas.width = Math.round(inkPx * ratio);
    this.canvas.height = Math.round(this.viewPx * ratio);
    this.canvas.style.width = `${inkPx}px`;
    this.canvas.style.height = `${this.viewPx}px`;
    this.refresh();
  }

  /** Fill in everything anew: something of the line has changed. */
  refresh() {
    this.rows.stale = true;
    this.parts.stale = true;
    this.height.style.height = `${this.model.rows * this.rowPx}px`;
    this.render();
    if (this.frame !== undefined) this.#mouthOf(this.frame);
  }

  /** Put into the page what is in view. */
  render() {
    const top = this.scroller.scrollTop;
    const first = Math.floor(top / this.rowPx) - 2;
    const last = Math.ceil((top + this.viewPx) / this.rowPx) + 2;
    this.rows.render(Math.max(0, first), Math.min(this.model.rows - 1, last));
    this.parts.render(this.model.usAt(first), this.model.usAt(last));
    this.#ink(top);
  }

  #ink(top) {
    const { canvas, model } = this;
    canvas.style.transform = `translateY(${top}px)`;
    canvas.context.clearRect(0, 0, canvas.width, canvas.height);
    const pxPerUs = (this.rowPx * model.rate.numerator) / (model.rate.denominator * 1e6);
    this.spectrum.paint(canvas, top / pxPerUs - model.place(0) * (this.rowPx / pxPerUs), pxPerUs * this.ratio, this.boxes);
  }

  /** The place of a time of the line, in pixels from the top of the sheet. */
  y(us) {
    return this.model.place(us) * this.rowPx;
  }

  /** The time of the line at a height of the window. */
  usAtClient(clientY) {
    const { top } = this.height.getBoundingClientRect();
    return this.model.usAt((clientY - top) / this.rowPx);
  }

  /** Follow the sound: called before each repaint of the screen while it plays. */
  follow(us) {
    const frame = this.model.frameAt(us);
    this.reading.style.transform = `translateY(${this.y(us)}px)`;
    if (frame !== this.frame) this.showFrame(frame);
    if (this.player.playing && !this.player.playing.loop) {
      this.scroller.scrollTop = this.y(us) - READING_AT * this.viewPx;
    }
  }

  /** Mark a frame as the one that is heard: its row, and the mouth beside it. */
  showFrame(frame) {
    this.frame = frame;
    this.rows.current(frame);
    this.#mouthOf(frame);
    this.dispatchEvent(new Event("frame"));
  }

  #mouthOf(frame) {
    const { model } = this;
    const code = model.piece(frame);
    show(this.picture, model.character.mouth_set, code);
    this.worn.textContent = code === null ? "off camera" : (code ?? "");
    const serves = model.track?.serves[frame];
    this.serves.textContent = serves ? serves[0] : "";
    this.pointer.style.transform = `translateY(${(frame - model.firstRow + 0.5) * this.rowPx}px)`;
    // The mouth is beside its row, but never over the sheet's edge.
    const [middle, half] = [(frame - model.firstRow + 0.5) * this.rowPx, MOUTH_PX / 2];
    const edge = model.rows * this.rowPx - half - 40;
    this.mouth.style.transform = `translateY(${Math.max(half + 4, Math.min(edge, middle))}px)`;
  }

  /** Go to a time without playing, and bring it into view. */
  go(us) {
    this.player.seek(us);
    this.follow(us);
    this.bring(this.y(us));
  }

  /** Go to a frame, play it, and say what is there. */
  step(frame) {
    const { model } = this;
    const there = Math.max(model.firstRow, Math.min(model.lastRow, frame));
    const us = model.frameUs(there);
    this.go(us);
    announce(`frame ${model.number(there)}, ${said(model, Math.max(0, us))}, ${model.piece(there) ?? "no piece"}`);
    if (us >= 0) this.player.grain(us);
  }

  /** Bring a height of the sheet into view, if it is not. */
  bring(y) {
    const { scrollTop } = this.scroller;
    const edge = MOUTH_PX / 2 + this.rowPx;
    if (y < scrollTop + edge || y > scrollTop + this.viewPx - edge) this.scroller.scrollTop = y - READING_AT * this.viewPx;
  }
}

customElements.define("frame-sheet", FrameSheet);
