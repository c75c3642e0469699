// Paints level and spectrogram of a line: ten seconds at a time, fetched when they come into view.
//
// Each column of the desk's bytes stands for 5 ms: the level, then 64 bands from low to high. Here it becomes a row of a
// small picture, and the page draws the part that is in view, in the colour of ink on that of paper.

import { bytes, ofLine } from "./api.js";

const BANDS = 64;
const CHUNK = 2000;
export const COLUMN_US = 5000;
const LEVEL_PX = 40;

export class Spectrum {
  /** `changed` is called when more has arrived. */
  constructor(line, changed) {
    this.line = line;
    this.changed = changed;
    this.chunks = new Map();
    this.theme = document.documentElement.dataset.theme;
    this.last = Infinity; // the chunk after which there is nothing
    /** Resolves when the first part of it is there, or cannot be loaded. */
    this.begun = new Promise((resolve) => {
      this.begin = resolve;
    });
  }

  /** Paint the time from one moment to another on a canvas, from y = 0 on; `boxes` are the places of level and spectrogram. */
  paint(canvas, fromUs, pxPerUs, boxes) {
    const height = canvas.height;
    const untilUs = fromUs + height / pxPerUs;
    const first = Math.max(0, Math.floor(fromUs / COLUMN_US / CHUNK));
    const until = Math.floor(untilUs / COLUMN_US / CHUNK);
    for (let index = first; index <= until; index += 1) {
      const chunk = this.#chunk(index);
      if (!chunk?.level) continue;
      const top = (index * CHUNK * COLUMN_US - fromUs) * pxPerUs;
      const high = chunk.columns * COLUMN_US * pxPerUs;
      for (const [picture, box] of [[chunk.level, boxes.level], [chunk.bands, boxes.bands]]) {
        canvas.context.drawImage(picture, box.x, top, box.width, high);
      }
    }
  }

  /** Paint anew, in the page's present colours, if they have changed. */
  recolour() {
    const { theme } = document.documentElement.dataset;
    if (theme === this.theme) return;
    this.theme = theme;
    for (const chunk of this.chunks.values()) if (chunk.data) this.#picture(chunk);
    this.changed();
  }

  #chunk(index) {
    if (index > this.last) return null;
    if (!this.chunks.has(index)) {
      const chunk = {};
      this.chunks.set(index, chunk);
      bytes(ofLine(this.line, `/picture?first=${index * CHUNK}&count=${CHUNK}`)).then(
        (data) => {
          chunk.data = new Uint8Array(data);
          chunk.columns = chunk.data.length / (BANDS + 1);
          if (chunk.columns < CHUNK) this.last = Math.min(this.last, index);
          if (chunk.columns) this.#picture(chunk);
          this.changed();
          this.begin();
        },
        () => {
          this.chunks.delete(index);
          this.begin();
        },
      );
    }
    return this.chunks.get(index);
  }

  #picture(chunk) {
    const [ink, paper] = ["--shade", "--paper"].map(colourOf);
    const shades = Array.from({ length: 256 }, (_, value) => {
      const share = (value / 255) ** 1.6;
      return ink.map((part, c) => Math.round(paper[c] + (part - paper[c]) * share));
    });
    const bands = new ImageData(BANDS, chunk.columns);
    const level = new ImageData(LEVEL_PX, chunk.columns);
    for (let row = 0; row < chunk.columns; row += 1) {
      const at = row * (BANDS + 1);
      const half = Math.round((chunk.data[at] / 255) * (LEVEL_PX / 2));
      for (let x = 0; x < LEVEL_PX; x += 1) {
        if (Math.abs(x + 0.5 - LEVEL_PX / 2) < half) put(level, row * LEVEL_PX + x, ink);
      }
      for (let band = 0; band < BANDS; band += 1) put(bands, row * BANDS + band, shades[chunk.data[at + 1 + band]]);
    }
    chunk.bands = pictureOf(bands);
    chunk.level = pictureOf(level);
  }
}

function put(image, point, [red, green, blue]) {
  image.data.set([red, green, blue, 255], 4 * point);
}

function pictureOf(image) {
  const picture = new OffscreenCanvas(image.width, image.height);
  picture.getContext("2d").putImageData(image, 0, 0);
  return picture;
}

/** A colour of the page as numbers; the page writes colours as #rrggbb. */
export function colourOf(name) {
  const text = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  return [1, 3, 5].map((at) => Number.parseInt(text.slice(at, at + 2), 16));
}
