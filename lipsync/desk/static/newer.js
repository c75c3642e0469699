// A newer computation of a line, which waits: the present words beside the new ones; a person takes or drops the new ones.

import { make } from "./dom.js";
import { seconds } from "./frames.js";

const said = (part) => (part.kind === "cue" ? `[${part.text}]` : part.text);
const asHeard = (part) => (part ? `${said(part)}, ${seconds(part.start_us)} to ${seconds(part.end_us)}` : "");

/** Return the words of two breakdowns in pairs; a side that has no such word is null. */
export function pairs(old, newer) {
  // Words of the longest common subsequence become pairs.
  const [ours, theirs] = [old, newer].map((parts) => parts.map((part) => said(part).toLowerCase()));
  const length = Array.from({ length: ours.length + 1 }, () => new Uint16Array(theirs.length + 1));
  for (let i = ours.length - 1; i >= 0; i -= 1) {
    for (let j = theirs.length - 1; j >= 0; j -= 1) {
      length[i][j] = ours[i] === theirs[j] ? length[i + 1][j + 1] + 1 : Math.max(length[i + 1][j], length[i][j + 1]);
    }
  }
  const found = [];
  let [i, j] = [0, 0];
  while (i < ours.length || j < theirs.length) {
    if (i < ours.length && j < theirs.length && ours[i] === theirs[j]) found.push([old[i++], newer[j++]]);
    else if (j >= theirs.length || (i < ours.length && length[i + 1][j] >= length[i][j + 1])) found.push([old[i++], null]);
    else found.push([null, newer[j++]]);
  }
  return found;
}

/** Return the notice above a line for which a newer computation waits; an empty list if none does. */
export function newerFields(model, editor) {
  const { view } = model;
  if (!view.newer) return [];
  const act = (label, kind, settings) => make("button", { type: "button", onclick: () => editor.change({ kind }), ...settings }, label);
  const rows = pairs(view.parts, view.newer_parts).map(([old, newer]) => {
    const same = old && newer && old.start_us === newer.start_us && old.end_us === newer.end_us;
    const note = !old ? "added" : !newer ? "gone" : same ? "the same" : "elsewhere";
    return make("tr", {}, make("td", {}, asHeard(old)), make("td", {}, asHeard(newer)), make("td", {}, note));
  });
  const heads = ["stands", "newer", ""].map((head) => make(head ? "th" : "td", head ? { scope: "col" } : {}, head));
  const from = view.newer_text === view.source_text ? "from the same text" : `from the text “${view.newer_text}”`;
  return [
    make("p", {}, make("strong", {}, "A newer computation waits"), `, ${from}. What stands is from “${view.source_text}”.`),
    make("div", { class: "buttons" }, act("Take the newer one", "take-newer"), act("Keep what stands", "drop-newer")),
    make(
      "details",
      {},
      make("summary", {}, "Old beside new, word by word"),
      make(
        "div",
        { class: "states", tabindex: "0", role: "group", "aria-label": "Old beside new" },
        make("table", {}, make("thead", {}, make("tr", {}, heads)), make("tbody", {}, rows)),
      ),
    ),
  ];
}
