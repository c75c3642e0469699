// Beside the sheet of a round: the doubt with the words around it, and a button for each answer, with its key.

import { announce, make, many } from "./dom.js";
import { RoundDoing } from "./round-doing.js";

const CONTEXT = 4; // words shown before and after

/** Return the panel; its `doing` has the functions that keys call too. */
export function roundPanel(round) {
  const doing = new RoundDoing(round);
  const asked = make("section", { class: "asked", "aria-label": "What is asked" });
  const actions = make("section", { class: "answers", "aria-label": "Answers" });
  const input = make("input", { type: "text", id: "words-said", maxlength: "200", spellcheck: "false", autocomplete: "off" });
  const label = make("label", { for: "words-said" });
  const hint = make("p", { class: "quiet" });
  const typing = make("div", { class: "field typing", hidden: true }, label, input, hint);
  const message = make("p", { class: "doubt", role: "alert" });
  const element = make("aside", { class: "panel", "aria-label": "Answer" }, asked, typing, message, actions);
  element.doing = doing;
  let more = false;

  const stop = () => {
    typing.hidden = true;
    input.value = "";
    (round.asked?.line.sheet.scroller ?? element).focus({ preventScroll: true });
  };
  doing.addEventListener("type", ({ detail }) => {
    if (!round.asked) return;
    more = detail.more;
    label.textContent = doing.isVoice ? "words that are said there" : more ? "words that are said and not written" : "word that is said";
    hint.textContent = doing.isVoice
      ? "Enter listens for them there; Shift + Enter spreads them over the time."
      : more
        ? "Enter: before the word; Shift + Enter: after it."
        : "Enter listens for it there; Shift + Enter changes only its letters.";
    typing.hidden = false;
    input.value = more ? "" : round.asked.item.text;
    input.focus();
    input.select();
  });
  input.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
      event.stopPropagation();
      stop();
    }
    if (event.key !== "Enter") return;
    event.preventDefault();
    event.stopPropagation();
    const text = input.value.trim();
    if (!text) return;
    stop();
    doing.typed(text, { more, plain: event.shiftKey });
  });
  round.say = (text) => {
    message.textContent = text;
  };

  const fill = () => {
    typing.hidden = true;
    asked.replaceChildren(...(round.asked ? askedFields(round) : endFields(round)));
    actions.replaceChildren(...(round.asked ? answerButtons(doing, round) : endButtons(doing, round)));
  };
  let said = null;
  round.addEventListener("asked", () => {
    fill();
    const item = round.asked?.item ?? null;
    if (item === said) return;
    said = item;
    announce(item ? `${nameOf(item)}, line ${item.line}, ${round.production.characters[item.character].name}` : "nothing more to ask");
  });
  round.addEventListener("counted", () => round.asked === null && fill());
  return element;
}

const nameOf = (item) => (item.text ? `“${item.text}”` : "voice without text");

function askedFields(round) {
  const { item, line } = round.asked;
  const sure = item.text && item.confidence !== null ? `sure to ${Math.round(item.confidence * 100)} %` : "";
  const name = round.production.characters[item.character].name;
  return [
    make("h2", {}, nameOf(item)),
    make("p", { class: "words-around" }, wordsAround(line.model, item)),
    make("p", { class: "quiet" }, [`${line.id} · ${name}`, `scene ${item.scene}, shot ${item.shot}`, sure].filter(Boolean).join(" · ")),
    make("p", { class: "said" }, line.model.view.text),
  ];
}

/** The words around the doubt, with the doubtful one marked. */
function wordsAround(model, { start_us, end_us, text }) {
  const said = (part) => (part.kind === "cue" ? `[${part.text}] ` : `${part.text} `);
  const before = model.parts.filter((part) => part.end_us <= start_us).slice(-CONTEXT);
  const after = model.parts.filter((part) => part.start_us >= end_us).slice(0, CONTEXT);
  return [...before.map(said), make("mark", {}, text || "…"), " ", ...after.map(said)];
}

function answerButtons(doing, round) {
  const voice = doing.isVoice;
  const button = (key, label, act) => make("button", { type: "button", onclick: () => act() }, make("kbd", { "aria-hidden": "true" }, key), ` ${label}`);
  const cues = voice ? round.asked.line.model.mouthSet.cues.slice(0, 9) : [];
  return [
    button("R", voice ? "Nothing is said there" : "It is right", () => doing.right()),
    !voice && button("O", "Another word is said", () => doing.otherWord()),
    button("V", voice ? "Type what is said" : "More is said: voice without text", () => doing.moreWords()),
    !voice && button("N", "It is not said", () => doing.notSaid()),
    ...cues.map((name, k) => button(String(k + 1), `It is a cue: ${name}`, () => doing.cue(k))),
    !voice && button("↓", "It is moved: begins later", () => doing.move("starts", 1)),
    !voice && button("↑", "It is moved: begins earlier", () => doing.move("starts", -1)),
    !voice && button("Enter", "Keep where it was moved to", () => doing.enter()),
    button("L", "Later", () => doing.later()),
    button("Space", "Hear it again", () => doing.again()),
    button("A", "It alone, over and over", () => doing.alone()),
    button("E", "Open its line", () => doing.open()),
    button("Ctrl + Z", "Take the last answer back", () => doing.undo()),
  ].filter(Boolean);
}

function endFields(round) {
  const { counts } = round.answering;
  const later = round.queue.later.length;
  const each = [...counts].filter(([, count]) => count).map(([name, count]) => make("li", {}, `${name}: ${count}`));
  return [
    make("h2", {}, round.total ? "Nothing more to ask" : "There is no doubt to ask about"),
    each.length ? make("ul", {}, each) : null,
    later ? make("p", {}, `${many(later, "doubt")} left for later.`) : null,
    round.unread ? make("p", { class: "quiet" }, `${many(round.unread, "line")} still being read; what is doubtful in them comes by itself.`) : null,
  ].filter(Boolean);
}

function endButtons(doing, round) {
  const later = round.queue.later.length;
  return [
    later > 0 && make("button", { type: "button", class: "main", onclick: () => doing.enter() }, "Ask what was left for later"),
    make("a", { href: "#/" }, "All lines"),
  ].filter(Boolean);
}
