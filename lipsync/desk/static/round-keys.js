// The keys of a round: an answer is one key, or one key, the words, and Enter.

import { callsOf, isLetter, isTyping, nameOf } from "./keying.js";
import { settings } from "./settings.js";

export const KEYS = [
  ["R", "it is right as it stands; of voice without text: nothing is said there", { r: (p, at) => p.right(at) }],
  ["O", "another word is said: type it, then Enter (Shift + Enter: only its letters)", { o: (p) => p.otherWord() }],
  ["V", "voice without text: more is said than is written; type it, then Enter", { v: (p) => p.moreWords() }],
  ["N", "it is not said", { n: (p, at) => p.notSaid(at) }],
  ["1 to 9", "of voice without text: it is this cue", Object.fromEntries([..."123456789"].map((n) => [n, (p, at) => p.cue(Number(n) - 1, at)]))],
  [
    "↓ ↑",
    "it is moved: begins a frame later or earlier; Enter keeps it, Escape lets it be",
    { ArrowDown: (p) => p.move("starts", 1), ArrowUp: (p) => p.move("starts", -1) },
  ],
  [
    "Shift + ↓ ↑",
    "it is moved: ends a frame later or earlier",
    { "Shift+ArrowDown": (p) => p.move("ends", 1), "Shift+ArrowUp": (p) => p.move("ends", -1) },
  ],
  ["Enter", "keep where it was moved to; at the end: ask what was left for later", { Enter: (p, at) => p.enter(at) }],
  ["L, Shift + L", "later; all of this line later", { l: (p, at) => p.later(at), "Shift+l": (p, at) => p.later(at, true) }],
  ["Space", "hear it again with what is around it, or stop", { " ": (p) => p.again() }],
  ["A", "hear it alone, over and over", { a: (p) => p.alone() }],
  ["S", "slower, then full speed again", { s: (p) => p.slower() }],
  ["E", "open the page of the line there", { e: (p) => p.open() }],
  ["Ctrl + Z, Backspace", "take the last answer back", { "Ctrl+z": (p) => p.undo(), Backspace: (p) => p.undo() }],
];
const CALLS = callsOf(KEYS);

/** Let keys answer; returns a function that ends this. */
export function bindRoundKeys(round, { doing }) {
  const down = (event) => {
    if (isTyping(event)) return;
    if (event.key === "Escape") doing.letBe();
    const call = CALLS[nameOf(event)];
    if (!call || event.repeat || (isLetter(event) && !settings.letters)) return;
    // Enter and Space belong to a button or a link that has the focus.
    if ((event.key === "Enter" || event.key === " ") && event.target.closest?.("button, a, summary")) return;
    event.preventDefault();
    call(doing, performance.now());
  };
  addEventListener("keydown", down);
  return () => removeEventListener("keydown", down);
}
