// The list's head: how far the production, each scene and each character is, with the numbers of the overview.

import { many, make } from "./dom.js";
import { keepPlace, linesOf, listPlace } from "./places.js";

const HEADS = ["", "lines", "heard", "doubtful words", "checked", "shots printed", "of shots", "frames filmed", "of frames"];

/** The number of doubtful words of some lines, stretches of voice without text included. */
export const doubtsOf = (lines) => lines.reduce((sum, line) => sum + line.doubts, 0);

/** The sentence on the lines of a scene, for its row. */
export function inARow(lines) {
  const checked = lines.filter(({ state }) => state === "checked").length;
  const doubts = doubtsOf(lines);
  return [many(lines.length, "line"), doubts && many(doubts, "doubtful word"), checked && `${checked} checked`].filter(Boolean).join(" · ");
}

/** Return an element for the figures, and a function that fills it from the list and the overview. */
export function figures(production) {
  const body = make("tbody");
  const heads = HEADS.map((head) => make(head ? "th" : "td", head ? { scope: "col" } : {}, head));
  const table = make("table", { class: "figures" }, make("thead", {}, make("tr", {}, heads)), body);
  const scroll = make("div", { class: "wide", tabindex: "0", role: "group", "aria-label": "Figures" }, table);
  const element = make("details", { class: "figures-of" }, make("summary", {}, "Figures of scenes and characters"), scroll);
  element.open = listPlace.figures;
  element.addEventListener("toggle", () => keepPlace({ figures: element.open }));
  const fill = (list, overview) => {
    const lines = [...linesOf(list)];
    const row = (name, sums, own) => {
      const numbers = [sums.lines, sums.heard, doubtsOf(own), sums.checked, sums.printed, sums.shots, sums.filmed, sums.frames];
      return make("tr", {}, make("th", { scope: "row" }, name), numbers.map((number) => make("td", {}, number)));
    };
    body.replaceChildren(
      row("the whole", overview.whole, lines),
      ...overview.scenes.map((sums) => row(`scene ${sums.name}`, sums, lines.filter(({ scene }) => scene === sums.name))),
      ...overview.characters.map((sums) =>
        row(production.characters[sums.name]?.name ?? sums.name, sums, lines.filter(({ character }) => character === sums.name)),
      ),
    );
  };
  return { element, fill };
}

/** The words on a shot's print and frames, for its heading. */
export function shotFigures({ revision, good, filmed, frames }) {
  const printed = revision && `printed ${revision}${good ? "" : ", another would be printed now"}`;
  const can = filmed > 0 && (filmed === frames ? "filmed" : `${filmed} of ${many(frames, "frame")} filmed`);
  return [printed, can].filter(Boolean).join(" · ");
}
