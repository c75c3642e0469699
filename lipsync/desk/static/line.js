// The page of one line: its sheet, and beside it what can be done.

import { Refused, ask, bytes, ofLine } from "./api.js";
import { Conflict } from "./conflict.js";
import { banner, make } from "./dom.js";
import { Editor } from "./editor.js";
import { bindEverywhere, keysDialog } from "./keying.js";
import { KEYS, bindKeys } from "./keys.js";
import { LineModel } from "./model.js";
import { newerFields } from "./newer.js";
import { Others } from "./others.js";
import { panelOf } from "./panel.js";
import { Player } from "./player.js";
import { Printing } from "./printing.js";
import { Doing } from "./doing.js";
import { themeChoice } from "./theme.js";
import { wordsButton } from "./words.js";
import { entryFields } from "./entry.js";
import "./sheet.js";

/** Open the line anew: what the scene's file says of it has changed, and with it perhaps its sound. */
const reopen = () => location.reload();

/** The page of a line; `at` is where to go at once: `doubt` 1 or -1 for the first or last doubt, `us` for a time. */
export function linePage(production, view, at = {}) {
  const model = new LineModel(production, view);
  const player = new Player();
  const editor = new Editor(model);
  const sheet = document.createElement("frame-sheet");
  sheet.editor = editor;
  const doing = new Doing(model, player, editor, sheet);
  const conflict = new Conflict(model, editor);
  const keys = keysDialog(KEYS);
  const others = new Others(model, player, async () => player.load(await bytes(ofLine(view.id, "/sound"))));
  const printing = new Printing(model, editor);
  doing.addEventListener("print", ({ detail }) => printing.print(detail));
  const element = make("div", { class: "line-page" });
  Object.assign(element, { model, player, editor, sheet }); // for code outside the page, such as tests
  let closed = false;

  const words = wordsButton();
  const header = () => topOf(model, doing, keys, words);
  const top = make("header", { class: "top" });
  const main = make("main", { class: "line" });
  const alert = make("p", { class: "alert", role: "alert" });
  const newer = make("section", { class: "newer", "aria-label": "A newer computation" });
  const fillTop = () => {
    top.replaceChildren(...header());
    const { heard, rejection, reasons, shown } = model.view;
    newer.replaceChildren(...newerFields(model, editor));
    alert.textContent = heard && shown && rejection ? `Ask before filming: ${reasons.join(" ")}` : "";
  };
  for (const what of ["line"]) model.addEventListener(what, fillTop);
  editor.addEventListener("busy", () => element.classList.toggle("busy", editor.busy));
  element.append(top, alert, newer, main, keys, conflict.dialog);
  editor.addEventListener("production", () => {
    if (!editor.isOccupied) dispatchEvent(new Event("reopen"));
    else banner("The production's files were changed outside this window.", ["Show it as it is now", () => dispatchEvent(new Event("reopen"))]);
  });
  fillTop();

  const follow = () => {
    if (closed) return;
    if (player.playing) sheet.follow(player.positionUs);
    requestAnimationFrame(follow);
  };

  const fill = () => {
    if (!model.view.shown) {
      main.replaceChildren(withoutSound(model, editor, player));
      return;
    }
    main.replaceChildren(sheet, panelOf(doing, reopen, others, printing));
    sheet.open(model, player);
    sheet.scroller.focus({ preventScroll: true });
    requestAnimationFrame(follow);
    if (at.us !== undefined) sheet.go(at.us);
    if (at.doubt) goToDoubt(doing, model, at.doubt);
    // What a person sees first is requested first.
    sheet.spectrum.begun.then(() => {
      if (closed) return;
      editor.track();
      others.open(sheet);
      printing.open();
      sound(model, player);
    });
  };
  model.addEventListener("line", () => {
    if (!sheet.model && model.view.shown) fill();
  });
  player.addEventListener("stop", () => {
    sheet.follow(player.positionUs);
  });
  const ends = [bindKeys(doing, sheet), bindEverywhere(keys, () => (sheet.scroller ?? top.querySelector("a")).focus())];
  return {
    element,
    shown: () => {
      fill();
      editor.recall();
    },
    close: () => {
      closed = true;
      player.stop();
      player.context?.close();
      others.close();
      printing.close();
      editor.close();
      for (const end of ends) end();
      banner("");
    },
  };
}

/** Choose a line's first doubt, or its last with -1. */
function goToDoubt(doing, model, way) {
  doing.player.atUs = way > 0 ? -1 : model.view.duration_us + 1;
  const doubts = model.parts.some((part) => part.doubtful) || model.untold.length;
  if (doubts) doing.doubt(way);
}

/** The words beside the tick "checked": with what it was checked against, if the scene's file says something else now. */
function checkedAgainst({ checked, source_text, text, newer, outdated }) {
  if (!checked) return "checked";
  return newer || outdated || source_text !== text ? `checked against “${source_text}”` : "checked as it stands";
}

function topOf(model, doing, keys, words) {
  const { view } = model;
  const button = (label, act, settings = {}) => make("button", { type: "button", onclick: act, ...settings }, label);
  const undo = view.undo === null ? "nothing to undo" : `undo: ${view.undo}`;
  const redo = view.redo === null ? "nothing to redo" : `redo: ${view.redo}`;
  const checked = make("input", { type: "checkbox", id: "checked", ".checked": view.checked ?? false, disabled: !view.shown });
  checked.addEventListener("change", () => doing.check(checked.checked));
  return [
    make("a", { href: "#/", class: "back" }, "All lines"),
    make(
      "div",
      { class: "names" },
      make("h1", {}, `${view.id} · ${model.character.name}`),
      make("p", { class: "said" }, view.text),
      make("p", { class: "folder" }, `${view.scene_title}, shot ${view.shot}`),
    ),
    make("span", { class: "check" }, checked, make("label", { for: "checked" }, checkedAgainst(view))),
    button("Line before", () => doing.line(-1)),
    button("Next line", () => doing.line(1)),
    button("Next with doubts", () => doing.line(1, true)),
    button("Undo", () => doing.undo(), { disabled: view.undo === null, title: undo, "aria-label": undo }),
    button("Redo", () => doing.redo(), { disabled: view.redo === null, title: redo, "aria-label": redo }),
    button("Keys", () => keys.showModal()),
    ...words,
    themeChoice(),
  ];
}

function withoutSound(model, editor, player) {
  const said = make("p", { role: "status" }, model.view.reasons.join(" ") || "Its sound cannot be read.");
  const button = make("button", { type: "button", class: "main", onclick: reopen }, "Look again");
  const entry = entryFields(model, editor, player, reopen);
  entry.open = true;
  return make("div", { class: "sorry" }, said, button, entry);
}

async function sound(model, player) {
  const { id } = model.view;
  try {
    await player.load(await bytes(ofLine(id, "/sound")));
    player.dispatchEvent(new Event("ready"));
    const recording = await ask(ofLine(id, "/recording"));
    if (recording.reason) banner(recording.reason);
    else if (!recording.same) {
      banner("The recording is not the one that this line was computed from. Have it listened to again, or put it back.");
    }
  } catch (refused) {
    if (!(refused instanceof Refused)) throw refused;
    banner(`No sound: ${refused.message}`);
  }
}
