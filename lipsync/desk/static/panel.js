// What can be done beside the sheet: play, what is chosen, what is to be looked at, the keys.

import { openAdding } from "./adding.js";
import { chosenFields } from "./chosen.js";
import { announce, make } from "./dom.js";
import { seconds } from "./frames.js";
import { entryFields } from "./entry.js";
import { notes } from "./notes.js";
import { pieceFields } from "./pieces.js";
import { set, settings } from "./settings.js";

/** Return the panel; `reopen` opens the line anew, `others` is the rest of its shot, `printing` prints it. */
export function panelOf(doing, reopen, others, printing) {
  const { model } = doing;
  const chosen = make("section", { class: "chosen", "aria-label": "What is chosen", tabindex: "-1" });
  const toLook = make("section", { class: "notes", "aria-label": "To look at" });
  const fill = (place, fields) => {
    const focused = place.contains(document.activeElement) ? document.activeElement.dataset.name : null;
    place.replaceChildren(...fields);
    if (focused) place.querySelector(`[data-name="${focused}"]`)?.focus();
  };
  const fillChosen = () => {
    fill(chosen, chosenFields(doing));
    if (model.filmed.has(model.chosen?.frame)) announce(`frame ${model.number(model.chosen.frame)} is filmed and stays as it is`);
  };
  const fillNotes = () => toLook.replaceChildren(...notes(doing));
  model.addEventListener("chosen", fillChosen);
  model.addEventListener("line", fillNotes);
  model.addEventListener("track", () => {
    fillNotes();
    // Only the piece is made anew, so that what is being typed beside it stays.
    if (model.chosen?.frame !== undefined) fill(chosen.querySelector(".of-piece"), pieceFields(doing));
  });
  doing.addEventListener("to-add", () => openAdding(chosen));
  doing.addEventListener("to-panel", () => {
    const first = chosen.querySelector('.pieces [aria-pressed="true"]') ?? chosen.querySelector("input, select, button");
    (first ?? chosen).focus();
  });
  const entry = make("section", { "aria-label": "What the scene's file says" }, entryFields(model, doing.editor, doing.player, reopen));
  fillChosen();
  fillNotes();
  return make(
    "aside",
    { class: "panel", "aria-label": "Play and correct" },
    transport(doing),
    chosen,
    toLook,
    others.element,
    printing.element,
    entry,
  );
}

function transport(doing) {
  const { model, player, sheet } = doing;
  const play = make("button", { type: "button", class: "main play", disabled: !player.ready, onclick: () => doing.play() }, "Play");
  const loop = make("button", { type: "button", onclick: () => doing.loop() }, "Over and over");
  const where = make("p", { class: "where" });
  const speed = make(
    "select",
    { id: "speed" },
    doing.speeds.map((value) => make("option", { value }, value === 1 ? "full speed" : `${value * 100} %`)),
  );
  speed.addEventListener("change", () => doing.setSpeed(Number(speed.value)));
  doing.addEventListener("speed", () => {
    speed.value = player.speed;
  });
  const snap = make("input", { type: "checkbox", id: "snap", ".checked": settings.snap });
  snap.addEventListener("change", () => set("snap", snap.checked));
  const state = () => {
    play.textContent = player.playing ? "Stop" : "Play";
    loop.setAttribute("aria-pressed", Boolean(player.playing?.loop));
  };
  for (const what of ["start", "stop"]) player.addEventListener(what, state);
  player.addEventListener("ready", () => {
    play.disabled = false;
  });
  const place = () => {
    where.textContent = `frame ${model.number(sheet.frame)} · ${seconds(player.positionUs)}`;
  };
  sheet.addEventListener("frame", place);
  state();
  return make(
    "section",
    { class: "transport", "aria-label": "Play" },
    make("div", { class: "buttons row-of" }, play, loop, step(doing, -1), step(doing, 1)),
    where,
    make("div", { class: "choices" }, make("label", { for: "speed" }, "speed"), speed),
    make("div", { class: "choices" }, snap, make("label", { for: "snap" }, "boundaries snap to frames")),
  );
}

function step(doing, way) {
  const name = way < 0 ? "one frame back" : "one frame on";
  return make("button", { type: "button", class: "step", "aria-label": name, onclick: () => doing.step(way) }, way < 0 ? "↑" : "↓");
}
