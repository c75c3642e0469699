// Buttons and inputs, from which the fields beside the sheet are made.

import { make } from "./dom.js";

/** A button; when the fields are made anew, the one with the same name gets the focus back. */
export const button = (label, act, settings = {}) => make("button", { type: "button", onclick: act, "data-name": label, ...settings }, label);

export const buttons = (...list) => make("div", { class: "buttons" }, list);

export const change = (doing, what) => doing.editor.change(what);

/** An input with its label. */
export function field(label, input) {
  input.id = `field-${label.replaceAll(" ", "-")}`;
  input.dataset.name = label;
  return make("div", { class: "field" }, make("label", { for: input.id }, label), input);
}
