// Small parts that the fields beside the sheet are made of.

import { make } from "./dom.js";

/** A button; what has the focus is found again by its name when the fields are made anew. */
export const button = (label, act, settings = {}) => make("button", { type: "button", onclick: act, "data-name": label, ...settings }, label);

export const buttons = (...list) => make("div", { class: "buttons" }, list);

export const change = (doing, what) => doing.editor.change(what);

/** An input with its label. */
export function field(label, input) {
  input.id = `field-${label.replaceAll(" ", "-")}`;
  input.dataset.name = label;
  return make("div", { class: "field" }, make("label", { for: input.id }, label), input);
}
