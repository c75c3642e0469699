// The keys of a page: one table, which is both what the keys do and what the page of keys shows. A row has the keys as
// they are shown, what they do in words, and a function for each key by the browser's name of it.

import { banner, make } from "./dom.js";
import { set, settings } from "./settings.js";

/** The key of an event with its modifiers, as tables name it: "Ctrl+z", "Shift+ArrowDown", "r". */
export function nameOf(event) {
  const parts = [event.ctrlKey || event.metaKey ? "Ctrl" : "", event.altKey ? "Alt" : "", event.shiftKey ? "Shift" : ""];
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  return [...parts.filter(Boolean), key].join("+");
}

/** Whether a key is a single letter or sign; a person may have switched these keys off. */
export const isLetter = (event) => event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.metaKey && !event.altKey;

/** Whether the focus is in a field to type into, or a dialog is open. */
export const isTyping = (event) =>
  Boolean(document.querySelector("dialog[open]") || event.target.matches?.("input:not([type=checkbox]), select, textarea"));

export const callsOf = (keys) => Object.assign({}, ...keys.map(([, , calls]) => calls));

/** Let "?" open the page of keys, and F6 go to the message that is shown and back; returns a function that ends this. */
export function bindEverywhere(dialog, back) {
  const down = (event) => {
    if (event.key === "F6" && !document.querySelector("dialog[open]")) {
      event.preventDefault();
      const place = document.getElementById("banner");
      if (!place.contains(document.activeElement) && place.classList.contains("shown")) place.focus();
      else back();
    } else if (event.key === "?" && settings.letters && !isTyping(event)) {
      event.preventDefault();
      dialog.showModal();
    } else if (event.key === "Escape" && document.getElementById("banner").contains(document.activeElement)) {
      event.stopImmediatePropagation(); // it closes the message, and nothing else
      banner("");
      back();
    }
  };
  addEventListener("keydown", down, true);
  return () => removeEventListener("keydown", down, true);
}

const EVERYWHERE = [
  ["?", "this page"],
  ["F6", "to the message at the bottom, and back; Escape there closes it"],
];

/** The page of keys: over the whole window, with a box to switch single letters off. */
export function keysDialog(keys) {
  const letters = make("input", { type: "checkbox", id: "letters", ".checked": settings.letters });
  letters.addEventListener("change", () => set("letters", letters.checked));
  const rows = [...keys, ...EVERYWHERE].map(([key, what]) =>
    make("tr", {}, make("th", { scope: "row" }, make("kbd", {}, key)), make("td", {}, what)),
  );
  const dialog = make(
    "dialog",
    { class: "keys-page", "aria-label": "Keys" },
    make("h2", {}, "Keys"),
    make("div", { class: "all-keys", tabindex: "0", role: "group", "aria-label": "All keys" }, make("table", { class: "keys" }, make("tbody", {}, rows))),
    make("p", { class: "choice" }, letters, make("label", { for: "letters" }, "keys of a single letter work")),
    make("p", {}, make("button", { type: "button", class: "main", onclick: () => dialog.close() }, "Close")),
  );
  return dialog;
}
