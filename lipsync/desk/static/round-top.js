// The head of a round: how many doubts are done, which are asked, and in which order.

import { make } from "./dom.js";
import { ORDERS } from "./round-queue.js";
import { themeChoice } from "./theme.js";

/** Return the head; `keys` opens the page of keys. */
export function roundTop(round, keys) {
  const { production, wanted } = round;
  const count = make("p", { class: "count" });
  const go = (name) => (event) => {
    const asked = new URLSearchParams(wanted);
    if (event.target.value) asked.set(name, event.target.value);
    else asked.delete(name);
    location.hash = `#/round?${asked}`;
  };
  const choice = (name, label, options) => {
    const select = make(
      "select",
      { "aria-label": label, onchange: go(name) },
      options.map(([value, text]) => make("option", { value, selected: value === (wanted[name] ?? "") }, text)),
    );
    return select;
  };
  const scenes = round.scenes.map((scene) => [scene, `scene ${scene}`]);
  const characters = Object.entries(production.characters).map(([id, { name }]) => [id, name]);
  const orders = Object.entries(ORDERS).map(([value, [text]]) => [value === "film" ? "" : value, text]);
  const fill = () => {
    const { answering, queue, total } = round;
    const parts = [`${answering.count} of ${total} answered`, queue.later.length && `${queue.later.length} for later`];
    count.textContent = parts.filter(Boolean).join(" · ");
  };
  for (const what of ["asked", "counted"]) round.addEventListener(what, fill);
  fill();
  return make(
    "header",
    { class: "top" },
    make("a", { href: "#/", class: "back" }, "All lines"),
    make("div", { class: "names" }, make("h1", {}, "Round of doubts"), count),
    choice("scene", "Scene", [["", "all scenes"], ...scenes]),
    choice("character", "Character", [["", "all characters"], ...characters]),
    choice("order", "Order", orders),
    make("button", { type: "button", onclick: keys }, "Keys"),
    themeChoice(),
  );
}
