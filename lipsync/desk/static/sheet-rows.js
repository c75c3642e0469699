// The rows of the sheet: for each frame its number, its timecode and the piece to fit.

import { make } from "./dom.js";
import { mouthPicture, show } from "./mouth.js";

export class RowsLayer {
  constructor(sheet, parent) {
    this.sheet = sheet;
    this.model = sheet.model;
    this.layer = make("div", { class: "rows", role: "list", "aria-label": "Frames" });
    parent.append(this.layer);
    this.shown = new Map();
    this.pool = [];
    this.measure();
  }

  measure() {
    this.rowPx = Number.parseFloat(getComputedStyle(this.sheet).getPropertyValue("--row")) || 26;
  }

  /** Show a range of rows, counted from the top of the sheet. */
  render(first, last) {
    for (const [row, cells] of this.shown) {
      if (row < first || row > last) {
        this.shown.delete(row);
        this.pool.push(cells);
      }
    }
    for (let row = first; row <= last; row += 1) {
      const there = this.shown.get(row);
      if (there && !this.stale) continue;
      const cells = there ?? this.pool.pop() ?? this.#made();
      this.shown.set(row, cells);
      this.#fill(cells, row);
    }
    for (const cells of this.pool) cells.row.hidden = true;
    this.stale = false;
  }

  #made() {
    const cells = {
      number: make("span", { class: "number" }),
      timecode: make("span", { class: "timecode" }),
      picture: mouthPicture("small"),
      code: make("span", { class: "code" }),
      note: make("span", { class: "note" }),
    };
    cells.piece = make("button", { type: "button", class: "piece", tabindex: "-1" }, cells.picture, cells.code, cells.note);
    cells.piece.addEventListener("click", () => {
      this.sheet.go(this.model.frameUs(cells.frame));
      this.model.choose({ frame: cells.frame });
    });
    cells.row = make("div", { class: "row", role: "listitem" }, cells.number, cells.timecode, cells.piece);
    cells.row.addEventListener("pointerdown", (event) => {
      if (event.target === cells.row || event.target === cells.number || event.target === cells.timecode) {
        this.sheet.step(cells.frame);
      }
    });
    this.layer.append(cells.row);
    return cells;
  }

  #fill(cells, row) {
    const { model } = this;
    const { view } = model;
    const frame = row + model.firstRow;
    cells.frame = frame;
    const outside = frame < 0 || frame >= view.frames;
    const code = model.piece(frame);
    const fitted = model.fitted?.has(frame) ?? false;
    const put = model.put.get(frame);
    const off = model.forbidden.get(frame) ?? [];
    const filmed = model.filmed.has(frame);
    cells.row.hidden = false;
    cells.row.style.transform = `translateY(${row * this.rowPx}px)`;
    const shotFrame = view.start_frame + frame;
    cells.row.className = "row";
    const { classList } = cells.row;
    classList.toggle("second", shotFrame % model.rate.nominal === 0);
    classList.toggle("outside", outside);
    classList.toggle("filmed", filmed);
    classList.toggle("held", !fitted && Boolean(code));
    classList.toggle("current", frame === this.frame);
    classList.toggle("chosen", model.chosen?.frame === frame);
    cells.number.textContent = model.number(frame);
    cells.timecode.textContent = shotFrame < 0 ? "" : model.rate.timecode(shotFrame, view.drop);
    show(cells.picture, model.character.mouth_set, fitted ? code : null);
    cells.code.textContent = fitted ? code : code === null && !outside ? "off camera" : "";
    const notes = [filmed && "filmed", put && "put by hand", off.length && `not ${off.join(", ")}`].filter(Boolean);
    const short = [filmed && "filmed", put && "by hand", off.length && `${off.length} kept off`].filter(Boolean);
    cells.note.textContent = short.join(", ");
    cells.note.title = notes.join(", ");
    cells.piece.disabled = outside;
    const worn = code ? `piece ${code}` : code === null ? "off camera" : "no piece yet";
    cells.piece.setAttribute("aria-label", [`frame ${model.number(frame)}`, worn, ...notes].join(", "));
  }

  /** Mark the row whose frame is being heard. */
  current(frame) {
    this.shown.get(this.frame - this.model.firstRow)?.row.classList.remove("current");
    this.frame = frame;
    this.shown.get(frame - this.model.firstRow)?.row.classList.add("current");
  }
}
