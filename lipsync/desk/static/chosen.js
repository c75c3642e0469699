// The fields for what is chosen: a word, a cue, a phoneme, a boundary, or a frame and its piece.

import { besideFields, hereFields, placeFields } from "./adding.js";
import { Refused, ask, ofLine, tell } from "./api.js";
import { make } from "./dom.js";
import { FINE_US } from "./doing.js";
import { button, buttons, change, field } from "./fields.js";
import { seconds } from "./frames.js";
import { pieceFields } from "./pieces.js";
import { boundaryName } from "./saying.js";

/** Return the fields for what is chosen. */
export function chosenFields(doing) {
  const { chosen } = doing.model;
  if (!chosen) return [make("h2", {}, "Nothing is chosen"), make("p", { class: "quiet" }, "Choose a word, a phoneme, a boundary or a piece on the sheet."), hereFields(doing), placeFields(doing)];
  if (chosen.span) return untoldFields(doing);
  if (chosen.frame !== undefined) return [make("div", { class: "of-piece" }, pieceFields(doing)), hereFields(doing)];
  if (chosen.boundary !== undefined) return boundaryFields(doing);
  if (chosen.phoneme !== undefined) return phonemeFields(doing);
  return doing.model.parts[chosen.part].kind === "cue" ? ofCue(doing) : wordFields(doing);
}

function untoldFields(doing) {
  const [start, end] = doing.model.chosen.span;
  return [
    make("h2", {}, "Voice without text"),
    make("p", { class: "doubt" }, `${seconds(start)} to ${seconds(end)}: something is heard here, and no word or cue covers it.`),
    make("p", { class: "quiet" }, "Place what is said; or, if it is a noise or a breath without a mouth, say that nothing is said there."),
    buttons(button("Play it over and over", () => doing.loop()), button("Nothing is said there", () => doing.right())),
    placeFields(doing, [start, end]),
  ];
}

function filmedNote(model, part) {
  return model.isPartFilmed(part) && make("p", {}, "Frames of it are filmed: what is heard on them stays as it is.");
}

function spanOf(doing, index) {
  const times = doing.model.times(index);
  return `${seconds(times[0])} to ${seconds(times.at(-1))}`;
}

function wordFields(doing) {
  const { model } = doing;
  const { part } = model.chosen;
  const word = model.parts[part];
  const text = make("input", { type: "text", ".value": word.text, maxlength: "200", spellcheck: "false" });
  const retype = (listen) => text.value.trim() && change(doing, { kind: "retype", part, text: text.value, listen });
  text.addEventListener("keydown", (event) => {
    if (event.key === "Enter") retype(true);
  });
  const sure = word.confidence === null ? "" : `, sure to ${Math.round(word.confidence * 100)} %`;
  const state = word.corrected ? "corrected by hand" : word.doubtful ? `doubtful${sure}` : `computed${sure}`;
  const next = model.parts[part + 1];
  const ways = make("div", { class: "ways" });
  return [
    make("h2", {}, `Word “${word.text}”`),
    filmedNote(model, part),
    make("p", { class: word.doubtful ? "doubt" : "quiet" }, `${state}; ${spanOf(doing, part)}; said ${word.phonemes.map(([s]) => s).join(" ")}`),
    buttons(button("It is right", () => doing.right(), { disabled: word.corrected })),
    field("write", text),
    buttons(button("Listen to it again as written", () => retype(true)), button("Only its letters", () => retype(false))),
    buttons(button("Other ways to say it", () => showWays(doing, part, ways))),
    ways,
    buttons(
      next?.kind === "word" && button(`Join with “${next.text}”`, () => change(doing, { kind: "join-words", part, text: word.text + next.text })),
      button("Take it out", () => change(doing, { kind: "delete-part", part })),
    ),
    besideFields(doing, part, word.text),
  ].filter(Boolean);
}

async function showWays(doing, part, place) {
  try {
    const { pronunciations } = await ask(ofLine(doing.model.view.id, `/parts/${part}/pronunciations`));
    const own = pronunciations.some(({ from }) => from === "production");
    place.replaceChildren(
      ...pronunciations.map(({ symbols, from }) =>
        button(`${symbols.join(" ")} (${from})`, () => change(doing, { kind: "pronounce", part, symbols })),
      ),
      ownWay(doing, part, own),
    );
    place.querySelector("button").focus();
  } catch (refused) {
    if (!(refused instanceof Refused)) throw refused;
    place.replaceChildren(make("p", { role: "alert" }, refused.message), ownWay(doing, part));
  }
}

function ownWay(doing, part, own = false) {
  const sounds = doing.model.parts[part].phonemes.map(([symbol]) => symbol).join(" ");
  const input = make("input", { type: "text", ".value": sounds, maxlength: "200", spellcheck: "false", autocapitalize: "characters" });
  const say = () => change(doing, { kind: "pronounce", part, symbols: input.value.toUpperCase().trim().split(/\s+/) });
  const { text } = doing.model.parts[part];
  const said = make("p", { class: "quiet", role: "status" });
  const write = async (what, written) => {
    try {
      const { number } = await tell(ofLine(doing.model.view.id, "/whole"), { change: { word: text, ...what } });
      doing.model.production.number = number; // this page made the change and shows it: it need not open the line anew
      said.textContent = `${written} Lines that were listened to before have it once they are listened to again.`;
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      said.textContent = refused.message;
    }
  };
  const everywhere = () => {
    const symbols = input.value.toUpperCase().trim().split(/\s+/);
    write({ kind: "set-pronunciation", symbols }, `written: “${text}” is said so in the whole production.`);
  };
  const takeOut = () => write({ kind: "drop-pronunciation" }, `taken out: the production says nothing of “${text}” any more.`);
  return make(
    "div",
    {},
    field("or in ARPAbet", input),
    buttons(button("Listen for that", say), button("Say it so in the whole production", everywhere), own && button("Take out the production's own way", takeOut)),
    said,
  );
}

function ofCue(doing) {
  const { part } = doing.model.chosen;
  const cue = doing.model.parts[part];
  return [
    make("h2", {}, `Cue [${cue.text}]`),
    make("p", { class: "quiet" }, spanOf(doing, part)),
    buttons(
      button("It is right", () => doing.right(), { disabled: cue.corrected }),
      button("Take it out", () => change(doing, { kind: "delete-part", part })),
    ),
  ];
}

function phonemeFields(doing) {
  const { model } = doing;
  const { part, phoneme } = model.chosen;
  const word = model.parts[part];
  const [symbol, start, end] = word.phonemes[phoneme];
  const bare = symbol.replace(/\d$/, "");
  const options = model.production.phonemes.map((row) =>
    make("option", { value: row.symbol, selected: row.symbol === bare }, `${row.symbol} as in ${row.example}`),
  );
  const sound = make("select", {}, options);
  const stress = make(
    "select",
    {},
    [["1", "stressed"], ["2", "somewhat stressed"], ["0", "unstressed"]].map(([value, label]) =>
      make("option", { value, selected: symbol.endsWith(value) }, label),
    ),
  );
  const isVowel = () => model.production.phonemes.find((row) => row.symbol === sound.value).vowel;
  const put = () => {
    const wanted = isVowel() ? sound.value + stress.value : sound.value;
    if (wanted !== symbol) change(doing, { kind: "set-phoneme", part, phoneme, symbol: wanted });
  };
  sound.addEventListener("change", put);
  stress.addEventListener("change", put);
  const first = make("input", { type: "text", ".value": word.text.slice(0, Math.ceil((word.text.length * phoneme) / word.phonemes.length)) });
  const second = make("input", { type: "text", ".value": word.text.slice(first.value.length) });
  const split = () => change(doing, { kind: "split-word", part, phoneme, first: first.value, second: second.value });
  return [
    make("h2", {}, `Phoneme ${symbol}`),
    make("p", { class: "quiet" }, `in “${word.text}”; ${seconds(start)} to ${seconds(end)}`),
    filmedNote(model, part),
    field("it is", sound),
    isVowel() && field("stress", stress),
    buttons(
      button("Divide it in two", () => change(doing, { kind: "split-phoneme", part, phoneme, at_us: Math.round((start + end) / 2), symbol })),
      button("Take it out", () => change(doing, { kind: "drop-phoneme", part, phoneme }), { disabled: word.phonemes.length === 1 }),
    ),
    phoneme > 0 && make("details", {}, make("summary", {}, "A new word begins here"), field("first", first), field("second", second), buttons(button("Split the word", split))),
  ].filter(Boolean);
}

function boundaryFields(doing) {
  const { model } = doing;
  const { part, boundary } = model.chosen;
  const us = model.times(part)[boundary];
  const [earliest, latest] = model.room(part, boundary);
  const move = (label, ...by) => button(label, () => doing.nudge(...by));
  const apart = model.shared(part, boundary) !== null && boundary === 0;
  return [
    make("h2", {}, `Boundary: ${boundaryName(model, part, boundary)}`),
    make("p", { class: "quiet" }, `${seconds(us)}; it can go from ${seconds(earliest)} to ${seconds(latest)}`),
    make("div", { class: "buttons four" }, move("− 1 frame", -1), move("+ 1 frame", 1), move("− 5 ms", 0, -FINE_US), move("+ 5 ms", 0, FINE_US)),
    apart && buttons(button("Leave a pause before it", () => change(doing, { kind: "move-boundary", part, boundary, to_us: pauseTo(model, part, us), alone: true }))),
    make("p", { class: "quiet" }, "On the sheet it can be dragged; Shift does the opposite of snapping."),
  ].filter(Boolean);
}

/** Return the middle of a phoneme; from there the boundary can be dragged further. */
function pauseTo(model, part, us) {
  return Math.round((us + model.times(part)[1]) / 2);
}
