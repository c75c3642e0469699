// The list of scenes, shots and lines, how far each line is, and search.

import { Refused, ask } from "./api.js";
import { announce, banner, make } from "./dom.js";
import { themeChoice } from "./theme.js";
import { unsavedIn } from "./unsent.js";
import { STATES, wordsButton } from "./words.js";

// States that are said in other words: of one line, and of how many there are. The word says it, not only the colour.
const OF_A_LINE = { broken: "file has faults", "not laid": "could not be laid", rejected: "sound and text do not match" };
const OF_MANY = {
  broken: "with faults in the file",
  doubts: "with doubts",
  "not laid": "that could not be laid",
  rejected: "whose sound and text do not match",
};
const AGAIN_MS = 700;
const LOOK_EACH_MS = 4000;

export function listPage(production, list) {
  const rows = new Map();
  const search = make("input", {
    type: "search",
    id: "search",
    placeholder: "words, a character, a shot, a state",
    autocomplete: "off",
    spellcheck: "false",
  });
  const count = make("p", { class: "count", role: "status" });
  const unsaved = unsavedIn(production);
  const scenes = list.scenes.map((scene) => sceneOf(production, scene, rows, unsaved));
  const element = make(
    "div",
    { class: "list-page" },
    make(
      "header",
      { class: "top" },
      make("div", { class: "names" }, make("h1", {}, production.title), make("p", { class: "folder" }, production.folder)),
      make("div", { class: "search" }, make("label", { for: "search" }, "Find"), search),
      wordsButton(),
      themeChoice(),
    ),
    make("main", { class: "list" }, count, scenes),
  );

  const say = () => {
    const asked = search.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const row of rows.values()) {
      const fits = asked.every((word) => row.text.includes(word));
      row.element.hidden = !fits;
      shown += fits;
    }
    for (const part of element.querySelectorAll(".shot, .scene")) part.hidden = !part.querySelector("li:not([hidden])");
    const counts = new Map();
    for (const row of rows.values()) counts.set(row.state, (counts.get(row.state) ?? 0) + 1);
    const parts = [...counts].filter(([state]) => state && state !== "computed").map(([state, n]) => `${n} ${OF_MANY[state] ?? state}`);
    const lines = asked.length ? `${shown} of ${rows.size} lines` : `${rows.size} lines`;
    count.textContent = [lines, ...parts].join(" · ");
  };
  search.addEventListener("input", say);

  let timer = null;
  const look = async () => {
    try {
      const now = await ask("/api/lines");
      banner("");
      if (!sameLines(now, rows)) {
        location.reload();
        return;
      }
      let unread = 0;
      const unsaved = unsavedIn(production);
      for (const line of linesOf(now)) {
        setState(rows.get(line.id), line, unsaved);
        unread += line.state === null;
      }
      say();
      timer = setTimeout(look, unread ? AGAIN_MS : LOOK_EACH_MS);
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      banner(refused.message);
      timer = setTimeout(look, LOOK_EACH_MS);
    }
  };
  timer = setTimeout(look, AGAIN_MS);
  say();

  const slash = (event) => {
    if (event.key !== "/" || event.target === search) return;
    event.preventDefault();
    search.focus();
  };
  addEventListener("keydown", slash);
  return {
    element,
    shown: () => announce(count.textContent),
    close: () => {
      clearTimeout(timer);
      removeEventListener("keydown", slash);
      banner("");
    },
  };
}

function* linesOf(list) {
  for (const scene of list.scenes) for (const shot of scene.shots) yield* shot.lines;
}

function sameLines(list, rows) {
  const lines = [...linesOf(list)];
  return lines.length === rows.size && lines.every((line) => rows.get(line.id)?.line.text === line.text);
}

function sceneOf(production, scene, rows, unsaved) {
  const shots = scene.shots.map((shot) => shotOf(production, scene, shot, rows, unsaved));
  return make("section", { class: "scene" }, make("h2", {}, scene.title, make("span", { class: "id" }, scene.id)), shots);
}

function shotOf(production, scene, shot, rows, unsaved) {
  const head = make("h3", {}, `shot ${shot.id}`, make("span", { class: "id" }, `${shot.frames} frames from ${shot.start}`));
  const lines = shot.lines.map((line) => {
    const name = production.characters[line.character].name;
    const state = make("span", { class: "state" });
    const link = make(
      "a",
      { href: `#/line/${encodeURIComponent(line.id)}` },
      make("span", { class: "line-id" }, line.id),
      make("span", { class: "who" }, name),
      make("span", { class: "text" }, line.text),
      state,
    );
    const element = make("li", {}, link);
    const words = [line.id, name, line.character, line.text, scene.title, scene.id, shot.id].join(" ").toLowerCase();
    rows.set(line.id, { element, line, shown: state, words });
    setState(rows.get(line.id), line, unsaved);
    return element;
  });
  const none = lines.length ? null : make("p", { class: "none" }, "no lines");
  return make("section", { class: "shot" }, head, none ?? make("ul", {}, lines));
}

function setState(row, line, unsaved) {
  const doubts = line.doubts === 1 ? "1 doubt" : `${line.doubts} doubts`;
  const said = line.state === null ? "reading …" : line.state === "doubts" ? doubts : (OF_A_LINE[line.state] ?? line.state);
  const notes = [said, line.newer && "a newer one waits", unsaved(line.id) && "a change is not saved"];
  const text = notes.filter(Boolean).join(", ");
  row.state = line.state;
  row.text = `${row.words} ${text}`.toLowerCase();
  if (row.shown.textContent === text) return;
  row.shown.textContent = text;
  row.shown.dataset.state = line.state ?? "reading";
  row.shown.title = STATES[line.state] ?? "";
}
