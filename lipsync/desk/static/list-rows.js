// The rows of the list: scenes, shots, lines, and how far each line is.

import { make, many } from "./dom.js";
import { STATES } from "./words.js";

// Other words for the state of a single line. The state is said in words, not only by its colour.
const OF_A_LINE = { broken: "file has faults", "not laid": "could not be laid", rejected: "sound and text do not match" };
// The order of states when the list is sorted by state: first what needs attention.
const RANK = ["broken", "not laid", "rejected", "doubts", "not done", "computed", "corrected", "checked", "filmed"];

const rank = ({ state }) => (RANK.includes(state) ? RANK.indexOf(state) : RANK.length);

// How rows can be sorted, beside their own order: the word, and the function that compares two.
export const SORTS = {
  doubt: (one, other) => other.line.doubts - one.line.doubts,
  character: (one, other) => one.name.localeCompare(other.name),
  state: (one, other) => rank(one) - rank(other) || other.line.doubts - one.line.doubts,
};

/** Return the element of a scene; the row of each line is added to `rows`, the note of each shot to `notes`. */
export function sceneOf(production, scene, { rows, notes, unsaved }) {
  const figures = make("span", { class: "id" });
  notes.set(scene.id, figures);
  const round = make("a", { class: "round-link", href: `#/round?scene=${encodeURIComponent(scene.id)}` }, "round of its doubts");
  const head = make("h2", {}, scene.title, make("span", { class: "id" }, scene.id), figures);
  const shots = scene.shots.map((shot) => shotOf(production, scene, shot, { rows, notes, unsaved }));
  const section = make("section", { class: "scene" }, make("div", { class: "scene-head" }, head, round), shots);
  const lines = scene.shots.reduce((sum, shot) => sum + Math.max(1, shot.lines.length), 0);
  section.style.containIntrinsicSize = `auto ${HEAD_REM + SHOT_REM * scene.shots.length + LINE_REM * lines}rem`;
  return section;
}

function shotOf(production, scene, shot, { rows, notes, unsaved }) {
  const element = EMPTY_SHOT.cloneNode(true);
  const [head, place] = element.children;
  const [frames, note] = head.children;
  head.firstChild.data = `shot ${shot.id}`;
  frames.textContent = `${many(shot.frames, "frame")} from ${shot.start}`;
  notes.set(`${scene.id}/${shot.id}`, note);
  for (const line of shot.lines) {
    const row = rowOf(production, scene, shot, line);
    row.home = place;
    rows.set(line.id, row);
    setState(row, line, unsaved);
    place.append(row.element);
  }
  if (!shot.lines.length) place.replaceWith(make("p", { class: "none" }, "no lines"));
  return element;
}

// Estimated heights of the heads of a scene and a shot, and of a line: the browser does not lay out what is not in view.
const [HEAD_REM, SHOT_REM, LINE_REM] = [2, 2.2, 2.4];

const READING = "reading …";

// A shot and a row without their words: there are thousands, and copying one is faster than building it.
const EMPTY_SHOT = make(
  "section",
  { class: "shot" },
  make("h3", {}, " ", make("span", { class: "id" }), make("span", { class: "id" })),
  make("ul"),
);
const EMPTY_ROW = make(
  "li",
  {},
  make(
    "a",
    {},
    ...["line-id", "who", "text"].map((name) => make("span", { class: name })),
    make("span", { class: "state", "data-state": "reading" }, READING),
  ),
);

function rowOf(production, scene, shot, line) {
  const name = production.characters[line.character].name;
  const element = EMPTY_ROW.cloneNode(true);
  const link = element.firstChild;
  link.setAttribute("href", `#/line/${encodeURIComponent(line.id)}`);
  const [id, who, text, state] = link.children;
  id.textContent = line.id;
  who.textContent = name;
  text.textContent = line.text;
  return { element, link, name, scene: scene.id, shot: shot.id, title: scene.title, shown: state, said: READING };
}

/** Return all that a row can be found by, in small letters. */
export function wordsOf({ line, name, title, scene, shot, said }) {
  return [line.id, name, line.character, line.text, title, scene, shot, said].join(" ").toLowerCase();
}

/** Say in a line's row how far it is. */
export function setState(row, line, unsaved) {
  const doubts = many(line.doubts, "doubt");
  const said = line.state === null ? READING : line.state === "doubts" ? doubts : (OF_A_LINE[line.state] ?? line.state);
  const alsoDoubts = line.doubts > 0 && line.state !== "doubts" && doubts;
  const notes = [said, alsoDoubts, line.newer && "a newer one waits", unsaved(line.id) && "a change is not saved"];
  const text = notes.filter(Boolean).join(", ");
  row.line = line;
  row.state = line.state;
  if (row.said === text) return;
  row.said = text;
  row.shown.textContent = text;
  row.shown.setAttribute("data-state", line.state ?? "reading");
  row.shown.setAttribute("title", STATES[line.state] ?? "");
}
