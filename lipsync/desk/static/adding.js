// Adds what is heard but is not in the text: a word beside the chosen one or in the silence here, or a cue.

import { banner, make } from "./dom.js";
import { button, buttons, change, field } from "./fields.js";

const CUE_US = 500_000; // an added cue is no longer at first; then its end can be dragged

const WORD_US = 400_000; // how long placed words are at first

const details = (summary, ...content) => make("details", { class: "add" }, make("summary", {}, summary), ...content);

/** A word that is missing before or after the chosen one: both are listened for in its part of the sound. */
export function besideFields(doing, part, text) {
  const missing = make("input", { type: "text", maxlength: "90", spellcheck: "false" });
  const add = (both) => missing.value.trim() && change(doing, { kind: "retype", part, text: both(missing.value.trim()) });
  return details(
    "A word is missing beside it",
    field("missing word", missing),
    buttons(
      button(`It comes before “${text}”`, () => add((word) => `${word} ${text}`)),
      button(`It comes after “${text}”`, () => add((word) => `${text} ${word}`)),
    ),
  );
}

/** A word or a cue in the silence at the frame that is heard. */
export function hereFields(doing) {
  const { model, player } = doing;
  const here = () => Math.max(0, player.positionUs);
  const word = make("input", { type: "text", maxlength: "200", spellcheck: "false" });
  const addWord = () => word.value.trim() && change(doing, { kind: "add-word", text: word.value, at_us: here() });
  word.addEventListener("keydown", (event) => {
    if (event.key === "Enter") addWord();
  });
  const cues = make("select", {}, model.mouthSet.cues.map((name) => make("option", { value: name }, name)));
  const addCue = () => {
    const start = here();
    const next = model.parts[model.firstAfter(start)]?.start_us ?? model.view.duration_us;
    const end = Math.min(Math.max(next, start + 1000), start + CUE_US);
    change(doing, { kind: "add-cue", name: cues.value, start_us: start, end_us: end });
  };
  return details(
    "Add a word or a cue here",
    field("word that is heard here", word),
    buttons(button("Listen for it here", addWord)),
    field("cue", cues),
    buttons(button("Add the cue", addCue)),
  );
}

/** Words placed by hand, from one time to another: nothing has to be found there. */
export function placeFields(doing, span = null) {
  const { model, player } = doing;
  const from = span?.[0] ?? Math.max(0, player.positionUs);
  const next = model.parts[model.firstAfter(from)]?.start_us ?? model.view.duration_us;
  const until = span?.[1] ?? Math.min(next > from ? next : Infinity, from + WORD_US, model.view.duration_us);
  const text = make("input", { type: "text", maxlength: "200", spellcheck: "false" });
  const [begins, ends] = [from, until].map((us) => make("input", { type: "number", step: "0.001", min: "0", ".value": (us / 1e6).toFixed(3) }));
  const spoken = make("input", { type: "text", maxlength: "200", spellcheck: "false", autocapitalize: "characters" });
  const us = (input) => Math.round(Number(input.value) * 1e6);
  const here = (input) => () => {
    input.value = (Math.max(0, player.positionUs) / 1e6).toFixed(3);
  };
  const place = (listen) => {
    if (!text.value.trim()) {
      text.focus();
      return;
    }
    const symbols = spoken.value.toUpperCase().trim().split(/\s+/).filter(Boolean);
    const asked = { kind: "place-words", text: text.value, start_us: us(begins), end_us: us(ends), listen };
    change(doing, symbols.length ? { ...asked, symbols } : asked);
  };
  const fields = details(
    "Place words by hand",
    field("words placed", text),
    field("from, in seconds", begins),
    field("until, in seconds", ends),
    buttons(button("From here", here(begins)), button("Until here", here(ends)), button("Play that", () => player.play(us(begins), us(ends)))),
    field("spoken, in ARPAbet, if it cannot be guessed", spoken),
    buttons(button("Place them", () => place(false)), button("Listen for them there", () => place(true))),
  );
  fields.open = span !== null || !model.parts.length;
  return fields;
}

/** Open the fields for adding that are in the page, and go to the first of them. */
export function openAdding(place) {
  const fields = place.querySelector("details.add");
  if (!fields) {
    banner("Choose a word, or a place where nothing is heard.", ["Close", () => banner("")]);
    return;
  }
  fields.open = true;
  fields.querySelector("input").focus();
}
