// What is to be looked at in a line: doubtful words, sounds that get no frame, disagreements, a newer computation.

import { make } from "./dom.js";

export function notes(doing) {
  const { model, editor } = doing;
  const { view, track } = model;
  const [found, texts] = [[], [...(view.reasons ?? [])]];
  const entry = (label, act, kind) => found.push(make("li", {}, make("button", { type: "button", class: kind, onclick: act }, label)));
  model.parts.forEach((part, index) => {
    if (part.doubtful) entry(`ask: ${part.text}, frame ${model.number(model.rowOf(part.start_us))}`, () => doing.choose({ part: index }), "doubt");
  });
  for (const span of model.untold) {
    entry(`ask: voice without text, frame ${model.number(model.rowOf(span[0]))}`, () => doing.choose({ span }), "doubt");
  }
  for (const lost of track?.lost ?? []) {
    if (lost.line !== view.id) continue;
    const us = lost.start_us - view.begins_us;
    entry(`not seen: ${lost.symbol} in ${lost.text}, frame ${model.number(model.rowOf(us))}: ${lost.reason}`, () => doing.sheet.step(model.frameAt(us)), "lost");
  }
  for (const { text, at_us } of view.disagreements ?? []) {
    if (at_us === null) texts.push(text);
    else entry(`≠ ${text}`, () => doing.choose({ part: Math.max(0, model.partAt(at_us)) }), "doubt");
  }
  texts.push(...(track?.messages ?? []), ...view.messages);
  if (view.edited) texts.push("Rows under [computed] were edited by hand; they become corrections when the line is listened to again.");
  if (view.outdated) texts.push("The text or the part of the recording has changed since this was computed.");
  const more = texts.map((text) => make("li", {}, text));
  const again = make("button", { type: "button", onclick: () => editor.listen() }, view.heard ? "Listen to the whole line again" : "Listen to it now");
  return [
    make("h2", {}, "To look at"),
    found.length || more.length ? make("ul", {}, found, more) : make("p", { class: "quiet" }, "nothing"),
    make("p", {}, again),
  ].filter(Boolean);
}
