// The keys of a line's page; `d` is what can be done with the line (doing.js).

import { callsOf, isLetter, nameOf } from "./keying.js";
import { settings } from "./settings.js";

export const KEYS = [
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
  ["D, Shift + D", "next doubt, or the one before; after the last, the next line's", { d: (d) => d.doubt(1), "Shift+d": (d) => d.doubt(-1) }],
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
  ["R", "the chosen word is right; of voice without text: nothing is said there", { r: (d) => d.right() }],
  ["C", "checked, or not", { c: (d) => d.check(!d.model.view.checked) }],
  ["Enter", "to the fields of what is chosen; Escape comes back", { Enter: (d) => d.toPanel() }],
  ["N, Shift + N", "next line of the list, or the one before", { n: (d) => d.line(1), "Shift+n": (d) => d.line(-1) }],
  [
    "F, Shift + F",
    "next line with doubts, or the one before",
    { f: (d) => d.line(1, true), "Shift+f": (d) => d.line(-1, true) },
  ],
  ["Ctrl + P", "print the sheet of this shot", { "Ctrl+p": (d) => d.print("sheet") }],
  ["Ctrl + Z", "undo", { "Ctrl+z": (d) => d.undo() }],
  ["Ctrl + Y", "redo", { "Ctrl+y": (d) => d.redo(), "Ctrl+Shift+z": (d) => d.redo() }],
];
const CALLS = callsOf(KEYS);

/** Let keys work while a line is shown; returns a function that ends this. */
export function bindKeys(doing, sheet) {
  const atSheet = (event) => event.target === document.body || sheet.contains(event.target);
  const down = (event) => {
    const open = document.querySelector("dialog[open]");
    if (nameOf(event) === "Ctrl+p" && !open && sheet.model) {
      event.preventDefault(); // in a field too: this key prints the sheet, never this page
      CALLS["Ctrl+p"](doing);
      return;
    }
    if (open || event.target.matches?.("input:not([type=checkbox]), select, textarea")) {
      if (event.key === "Escape" && !open) sheet.scroller?.focus();
      return;
    }
    if (event.key === "Escape") {
      sheet.scroller?.focus({ preventScroll: true });
      return;
    }
    const call = CALLS[nameOf(event)];
    const letter = isLetter(event);
    const elsewhere = ["n", "Shift+n", "f", "Shift+f"].includes(nameOf(event)); // these work without a sheet too
    if (!call || (!sheet.model && !elsewhere) || (letter && !settings.letters)) return;
    // Outside the sheet, space, enter and arrows belong to whatever has the focus.
    if (!letter && !event.ctrlKey && !event.metaKey && !atSheet(event)) return;
    event.preventDefault();
    call(doing);
  };
  const up = (event) => {
    if (event.key === " " && sheet.contains(event.target)) event.preventDefault(); // else releasing it presses a button
  };
  addEventListener("keydown", down);
  addEventListener("keyup", up);
  return () => {
    removeEventListener("keydown", down);
    removeEventListener("keyup", up);
  };
}
