// The keys of the list: arrows, Home and End go from line to line, and letters to the next that begins with them.

import { isLetter, isTyping, nameOf } from "./keying.js";
import { settings } from "./settings.js";

const PAGE = 10; // lines
const TYPING_MS = 900; // letters within this time are one word (chosen)

export const KEYS = [
  ["↓ ↑", "next line, or the one before"],
  ["Page Down, Page Up", "ten lines on or back"],
  ["Home, End", "first or last line"],
  ["letters, digits", "next line whose name, character or shot begins with them"],
  ["Enter", "open the line"],
  ["/", "to what is sought; ↓ comes back to the lines"],
  ["Ctrl + Enter", "begin a round of doubts"],
];

const WAYS = {
  ArrowDown: (at) => at + 1,
  ArrowUp: (at) => at - 1,
  PageDown: (at) => at + PAGE,
  PageUp: (at) => at - PAGE,
  Home: () => 0,
  End: () => Infinity,
};

/** Let keys move in the list; `shown` returns its rows in order: each with its link, and the beginnings that find it. */
export function bindListKeys({ shown, search, round }) {
  let typed = "";
  let when = -Infinity;
  const go = (row) => {
    row?.link.focus({ preventScroll: true });
    row?.link.scrollIntoView({ block: "nearest" });
  };
  const goesOn = (event) => event.timeStamp - when < TYPING_MS;
  const begins = (event, rows, at) => {
    typed = goesOn(event) ? typed + event.key.toLowerCase() : event.key.toLowerCase();
    when = event.timeStamp;
    // A single letter always goes to another line; with more letters, the present line may be the one to find.
    const from = typed.length > 1 ? Math.max(0, at) : at + 1;
    const order = [...rows.slice(from), ...rows.slice(0, from)];
    go(order.find(({ line, name, shot }) => [line.id, name, shot].some((start) => start.toLowerCase().startsWith(typed))));
  };
  const down = (event) => {
    if (document.querySelector("dialog[open]")) return;
    const name = nameOf(event);
    if (name === "Ctrl+Enter") {
      event.preventDefault();
      round();
      return;
    }
    const rows = shown();
    if (event.target === search && event.key === "ArrowDown") {
      event.preventDefault();
      go(rows[0]);
      return;
    }
    if (isTyping(event)) return;
    if (name === "/") {
      event.preventDefault();
      search.focus();
      return;
    }
    const at = rows.findIndex(({ link }) => link === document.activeElement);
    const way = WAYS[name];
    if (way && (at >= 0 || event.target === document.body || event.target.matches("main"))) {
      event.preventDefault();
      go(rows[Math.max(0, Math.min(rows.length - 1, way(at)))]);
    } else if (isLetter(event) && settings.letters && (/[\p{L}\p{N}]/u.test(event.key) || (goesOn(event) && /[-_.]/.test(event.key)))) {
      event.preventDefault();
      begins(event, rows, at);
    }
  };
  addEventListener("keydown", down);
  return () => removeEventListener("keydown", down);
}
