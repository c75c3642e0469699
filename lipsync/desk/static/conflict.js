// Two states of a line that was changed by someone else meanwhile: the state shown here, and the one on disk.

import { announce, make } from "./dom.js";
import { seconds } from "./frames.js";

export class Conflict {
  constructor(model, editor) {
    this.model = model;
    this.editor = editor;
    this.dialog = make("dialog", { class: "conflict", "aria-label": "The line was changed meanwhile" });
    editor.addEventListener("conflict", (event) => this.#show(event.detail));
  }

  #show({ mine, theirs, again, lost }) {
    if (!theirs) return;
    const close = (act) => () => {
      this.dialog.close();
      act?.();
    };
    const take = close(() => this.#take(theirs));
    const both = close(() => {
      this.#take(theirs);
      again();
    });
    const buttons = [make("button", { type: "button", class: "main", onclick: take }, "Show what stands")];
    if (again) buttons.push(make("button", { type: "button", onclick: both }, "Show it, and make my change there too"));
    buttons.push(make("button", { type: "button", onclick: close() }, "Look at mine a little longer"));
    const rows = differences(this.model, mine, theirs);
    this.dialog.replaceChildren(
      make("h2", {}, "This line was changed meanwhile"),
      make("p", {}, "In another window, or by another program. ", lost ? `Your change (${lost}) was not written.` : ""),
      rows.length ? table(rows) : make("p", {}, "What is heard and worn is the same in both."),
      make("div", { class: "buttons" }, buttons),
    );
    if (!this.dialog.open) this.dialog.showModal();
    announce("This line was changed meanwhile");
  }

  #take(theirs) {
    this.editor.noticed = null;
    this.model.set(theirs);
    this.editor.track();
  }
}

function table(rows) {
  const body = rows.map(([what, mine, theirs]) =>
    make("tr", {}, make("th", { scope: "row" }, what), make("td", {}, mine), make("td", {}, theirs)),
  );
  const head = ["", "seen here", "stands now"].map((text) => make(text ? "th" : "td", text ? { scope: "col" } : {}, text));
  return make("div", { class: "states", tabindex: "0", role: "group", "aria-label": "Both states" },
    make("table", {}, make("thead", {}, make("tr", {}, head)), make("tbody", {}, body)));
}

const saidPart = (part) => {
  const sounds = (part.phonemes ?? []).map(([symbol, start]) => `${symbol} ${(start / 1e6).toFixed(3)}`).join("  ");
  return `${part.kind === "cue" ? `[${part.text}]` : part.text}  ${seconds(part.start_us)} to ${seconds(part.end_us)}  ${sounds}`;
};

/** Return where two states of a line differ, row by row: what it is, and its value in each state. */
function differences(model, mine, theirs) {
  const rows = [];
  const [ours, other] = [mine.parts ?? [], theirs.parts ?? []].map((parts) => parts.map(saidPart));
  const [onlyOurs, onlyOther] = [ours.filter((text) => !other.includes(text)), other.filter((text) => !ours.includes(text))];
  for (let k = 0; k < Math.max(onlyOurs.length, onlyOther.length); k += 1) {
    rows.push(["heard", onlyOurs[k] ?? "", onlyOther[k] ?? ""]);
  }
  const choices = (view) => new Map((view.pieces ?? []).map((p) => [`${p.frame} ${p.forbidden} ${p.code}`, p]));
  const [here, there] = [choices(mine), choices(theirs)];
  const said = (piece) => `${piece.forbidden ? "not " : ""}${piece.code}`;
  for (const [key, piece] of here) if (!there.has(key)) rows.push([`frame ${model.number(piece.frame)}`, said(piece), ""]);
  for (const [key, piece] of there) if (!here.has(key)) rows.push([`frame ${model.number(piece.frame)}`, "", said(piece)]);
  if (mine.checked !== theirs.checked) {
    rows.push(["checked", mine.checked ? "yes" : "no", theirs.checked ? "yes" : "no"]);
  }
  return rows;
}
