// The keys: one table, from which both what they do and the list on the page are made.

import { make } from "./dom.js";
import { set, settings } from "./settings.js";

// Keys as they are shown, what they do, and for each key as the browser names it what is called.
const KEYS = [
  ["Space", "play or stop", { " ": (d) => d.play() }],
  ["L", "play the word over and over", { l: (d) => d.loop() }],
  ["S", "slower, then full speed again", { s: (d) => d.slower() }],
  ["↓ ↑", "one frame on or back", { ArrowDown: (d) => d.step(1), ArrowUp: (d) => d.step(-1) }],
  ["Page Down, Page Up", "one second on or back", { PageDown: (d) => d.stepSecond(1), PageUp: (d) => d.stepSecond(-1) }],
  ["Home, End", "beginning or end of the line", { Home: (d) => d.toEdge(-1), End: (d) => d.toEdge(1) }],
  ["→ ←", "next word, or the one before", { ArrowRight: (d) => d.word(1), ArrowLeft: (d) => d.word(-1) }],
  [
    "Shift + → ←",
    "next phoneme, or the one before",
    { "Shift+ArrowRight": (d) => d.phoneme(1), "Shift+ArrowLeft": (d) => d.phoneme(-1) },
  ],
  ["B, Shift + B", "next boundary, or the one before", { b: (d) => d.boundary(1), "Shift+b": (d) => d.boundary(-1) }],
  ["D, Shift + D", "next doubt, or the one before", { d: (d) => d.doubt(1), "Shift+d": (d) => d.doubt(-1) }],
  [
    "Alt + ↓ ↑",
    "move the chosen boundary by a frame",
    { "Alt+ArrowDown": (d) => d.nudge(1), "Alt+ArrowUp": (d) => d.nudge(-1) },
  ],
  [
    "Alt + Shift + ↓ ↑",
    "move it by 5 ms",
    { "Alt+Shift+ArrowDown": (d) => d.nudge(0, 5000), "Alt+Shift+ArrowUp": (d) => d.nudge(0, -5000) },
  ],
  ["P", "choose the piece of this frame", { p: (d) => d.piece() }],
  ["A", "add a word, or a cue", { a: (d) => d.add() }],
  ["R", "the chosen word is right", { r: (d) => d.right() }],
  ["C", "checked, or not", { c: (d) => d.check(!d.model.view.checked) }],
  ["Enter", "to the fields of what is chosen; Escape comes back", { Enter: (d) => d.toPanel() }],
  ["?", "this list", {}],
  ["Ctrl + Z", "undo", { "Ctrl+z": (d) => d.undo() }],
  ["Ctrl + Y", "redo", { "Ctrl+y": (d) => d.redo(), "Ctrl+Shift+z": (d) => d.redo() }],
];
const CALLS = Object.assign({}, ...KEYS.map(([, , calls]) => calls));

function nameOf(event) {
  const parts = [event.ctrlKey || event.metaKey ? "Ctrl" : "", event.altKey ? "Alt" : "", event.shiftKey ? "Shift" : ""];
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  return [...parts.filter(Boolean), key].join("+");
}

/** Let keys do things while a line is shown; returns what ends that. */
export function bindKeys(doing, sheet, dialog) {
  const atSheet = (event) => event.target === document.body || sheet.contains(event.target);
  const down = (event) => {
    if (document.querySelector("dialog[open]") || event.target.matches?.("input:not([type=checkbox]), select, textarea")) {
      if (event.key === "Escape" && !document.querySelector("dialog[open]")) sheet.scroller.focus();
      return;
    }
    const name = nameOf(event);
    if (event.key === "?" && settings.letters) {
      event.preventDefault();
      dialog.showModal();
      return;
    }
    if (event.key === "Escape") {
      sheet.scroller?.focus({ preventScroll: true });
      return;
    }
    const call = CALLS[name];
    const letter = event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.metaKey;
    if (!call || !sheet.model || (letter && !settings.letters)) return;
    // Outside the sheet, space, enter and arrows belong to whatever has the focus.
    if (!letter && !event.ctrlKey && !event.metaKey && !atSheet(event)) return;
    event.preventDefault();
    call(doing);
  };
  const up = (event) => {
    if (event.key === " " && sheet.contains(event.target)) event.preventDefault(); // a button is pressed when it comes up
  };
  addEventListener("keydown", down);
  addEventListener("keyup", up);
  return () => {
    removeEventListener("keydown", down);
    removeEventListener("keyup", up);
  };
}

/** The list of keys. */
export function keyList() {
  const rows = KEYS.map(([keys, what]) => make("tr", {}, make("th", { scope: "row" }, make("kbd", {}, keys)), make("td", {}, what)));
  return make("table", { class: "keys" }, make("caption", {}, "Keys"), make("tbody", {}, rows));
}

/** The same in a dialog, with the choice to leave letters alone. */
export function keysDialog() {
  const letters = make("input", { type: "checkbox", id: "letters", ".checked": settings.letters });
  letters.addEventListener("change", () => set("letters", letters.checked));
  const close = make("button", { type: "button", onclick: () => dialog.close() }, "Close");
  const dialog = make(
    "dialog",
    { class: "keys-dialog", "aria-label": "Keys" },
    keyList(),
    make("p", { class: "choice" }, letters, make("label", { for: "letters" }, "letters by themselves do something")),
    close,
  );
  return dialog;
}
