// The list of scenes, shots and lines, how far each line is, search and order. A person finds it as they left it.

import { Refused, ask } from "./api.js";
import { announce, banner, make, many } from "./dom.js";
import { doubtsOf, figures, inARow, shotFigures } from "./figures.js";
import { bindEverywhere, keysDialog } from "./keying.js";
import { KEYS, bindListKeys } from "./list-keys.js";
import { SORTS, sceneOf, setState, wordsOf } from "./list-rows.js";
import { news } from "./news.js";
import { keepPlace, linesOf, listPlace } from "./places.js";
import { themeChoice } from "./theme.js";
import { unsavedIn } from "./unsent.js";
import { wordsButton } from "./words.js";

// Other words for the states of several lines.
const OF_MANY = {
  broken: "with faults in the file",
  doubts: "with doubts",
  "not laid": "that could not be laid",
  rejected: "whose sound and text do not match",
};
const SORTED_BY = { order: "order of the film", doubt: "most doubts first", character: "character", state: "state" };
const OVERVIEW_EACH_MS = 3000; // the overview reads every file: while much changes, it is asked for no more often

const fitsAll = (words, asked) => asked.every((word) => words.includes(word));

export function listPage(production, list) {
  const [rows, notes] = [new Map(), new Map()];
  const search = make("input", {
    type: "search",
    id: "search",
    placeholder: "word, name, shot or state",
    autocomplete: "off",
    spellcheck: "false",
    ".value": listPlace.search,
  });
  const options = Object.entries(SORTED_BY).map(([value, label]) => make("option", { value, selected: value === listPlace.sort }, label));
  const sort = make("select", { id: "sort" }, options);
  const count = make("p", { class: "count", role: "status" });
  const head = figures(production);
  const scenes = make("div", {}, list.scenes.map((scene) => sceneOf(production, scene, { rows, notes, unsaved: unsavedIn(production) })));
  const flat = make("ul", { class: "flat shot" });
  const main = make("main", { class: "list" }, count, head.element, scenes, flat);
  const keys = keysDialog(KEYS);
  const element = make(
    "div",
    { class: "list-page" },
    make(
      "header",
      { class: "top" },
      make("div", { class: "names" }, make("h1", {}, production.title), make("p", { class: "folder" }, production.folder)),
      make("div", { class: "search" }, make("label", { for: "search" }, "Find"), search),
      make("div", { class: "search" }, make("label", { for: "sort" }, "Sort by"), sort),
      make("a", { class: "button", href: "#/round" }, "Round of doubts"),
      make("button", { type: "button", onclick: () => keys.showModal() }, "Keys"),
      wordsButton(),
      themeChoice(),
    ),
    main,
    keys,
  );

  let sought = ""; // the search text for which rows are shown and hidden at present
  const fits = () => {
    const asked = search.value.toLowerCase().split(/\s+/).filter(Boolean);
    if (!asked.length && !sought) return; // nothing is hidden, and nothing has to be
    sought = asked.join(" ");
    for (const row of rows.values()) row.element.hidden = !fitsAll(wordsOf(row), asked);
    for (const part of scenes.querySelectorAll(".shot, .scene")) part.hidden = Boolean(sought) && !part.querySelector("li:not([hidden])");
  };
  const order = () => {
    const sorted = [...rows.values()];
    const by = SORTS[sort.value];
    if (by) flat.append(...sorted.sort(by).map((row) => row.element));
    else if (flat.firstChild) for (const row of sorted) row.home.append(row.element);
    scenes.hidden = Boolean(by);
    flat.hidden = !by;
    return sorted;
  };
  let sorted = order();
  const shown = () => sorted.filter((row) => !row.element.hidden);
  const say = () => {
    fits();
    const lines = [...rows.values()].map((row) => row.line);
    const counts = new Map();
    for (const { state } of lines) counts.set(state, (counts.get(state) ?? 0) + 1);
    const parts = [...counts].filter(([state]) => state && state !== "computed").map(([state, n]) => `${n} ${OF_MANY[state] ?? state}`);
    const doubts = doubtsOf(lines);
    if (doubts) parts.push(many(doubts, "doubtful word"));
    const all = many(rows.size, "line");
    count.textContent = [search.value.trim() ? `${shown().length} of ${all}` : all, ...parts].join(" · ");
    const own = new Map(list.scenes.map(({ id }) => [id, []]));
    for (const line of lines) own.get(rows.get(line.id).scene).push(line);
    for (const [scene, its] of own) notes.get(scene).textContent = inARow(its);
  };
  search.addEventListener("input", () => {
    say();
    keepPlace({ search: search.value });
  });
  sort.addEventListener("change", () => {
    sorted = order();
    say();
    keepPlace({ sort: sort.value });
  });

  let closed = false;
  const look = async () => {
    try {
      const now = await ask("/api/lines");
      if (closed) return;
      if (!sameLines(now, rows)) {
        leave();
        dispatchEvent(new Event("reopen"));
        return;
      }
      const unsaved = unsavedIn(production);
      for (const line of linesOf(now)) setState(rows.get(line.id), line, unsaved);
      list = now;
      say();
      glance();
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      banner(refused.message);
    }
  };
  // It reads every line too: not while their states are being read.
  const isRead = () => [...rows.values()].every((row) => row.state !== null);
  const glance = atMostEach(OVERVIEW_EACH_MS, () => !closed && isRead() && overview(head, notes, () => list));
  const refused = ({ detail }) => banner(detail);
  const answers = () => banner("");
  const told = { changed: look, refused, answers };
  for (const [what, act] of Object.entries(told)) news.addEventListener(what, act);

  // Only rows in view are measured: the others are not laid out, and measuring would make the browser do that.
  const firstSeen = (there, top) => {
    if (SORTS[sort.value]) return there.find(({ element }) => element.getBoundingClientRect().top >= top);
    const own = [...scenes.querySelectorAll(".scene:not([hidden])")];
    const at = own.findIndex((scene) => scene.getBoundingClientRect().bottom > top);
    const near = new Set(own.slice(Math.max(0, at), at + 2));
    return there.find(({ home, link }) => near.has(home.closest(".scene")) && link.getBoundingClientRect().top >= top);
  };

  /** Remember where the person is: the line with the focus, else the first one in view, and how far down it is. */
  const leave = () => {
    const top = main.getBoundingClientRect().top;
    const there = shown();
    const row = there.find(({ link }) => link === document.activeElement) ?? firstSeen(there, top);
    const place = row ? { line: row.line.id, top: row.link.getBoundingClientRect().top - top } : { line: null, top: 0 };
    keepPlace({ ...place, order: there.map(({ line }) => line.id) });
  };
  element.addEventListener("click", (event) => {
    if (event.target.closest("a")) event.target.closest("a").focus({ preventScroll: true });
  });
  const find = () => {
    const row = rows.get(listPlace.line);
    if (!row || row.element.hidden) return;
    row.link.focus({ preventScroll: true });
    const put = () => {
      main.scrollTop += row.link.getBoundingClientRect().top - main.getBoundingClientRect().top - listPlace.top;
    };
    put();
    requestAnimationFrame(put); // once more: what came into view has its real height now
  };
  addEventListener("pagehide", leave);
  const round = () => {
    location.hash = "#/round";
  };
  const ends = [bindListKeys({ shown, search, round }), bindEverywhere(keys, () => (shown()[0]?.link ?? search).focus())];
  say();
  return {
    element,
    leave,
    shown: () => {
      find();
      announce(count.textContent);
      glance();
    },
    close: () => {
      closed = true;
      for (const [what, act] of Object.entries(told)) news.removeEventListener(what, act);
      removeEventListener("pagehide", leave);
      for (const end of ends) end();
      banner("");
    },
  };
}

/** Return a function that does something at once; if it is called again within `ms`, it does it once more after them. */
function atMostEach(ms, act) {
  let [busy, again] = [false, false];
  const run = async () => {
    again = busy;
    if (busy) return;
    busy = true;
    await act();
    setTimeout(() => {
      busy = false;
      if (again) run();
    }, ms);
  };
  return run;
}

/** Fill in what the overview knows: the figures, and of each shot its print and its frames in the can. */
async function overview(head, notes, list) {
  try {
    const found = await ask("/api/overview");
    head.fill(list(), found);
    for (const shot of found.shots) {
      const note = notes.get(`${shot.scene}/${shot.shot}`);
      if (note) note.textContent = shotFigures(shot);
    }
  } catch (refused) {
    if (!(refused instanceof Refused)) throw refused;
    banner(refused.message);
  }
}

/** Whether lines are the same as those that are shown, in the same order, with the same texts. */
function sameLines(list, rows) {
  const [lines, ours] = [[...linesOf(list)], [...rows.values()]];
  return (
    lines.length === ours.length &&
    lines.every(({ id, text, character, shot }, k) => {
      const { line, shot: place } = ours[k];
      return line.id === id && line.text === text && line.character === character && place === shot;
    })
  );
}
