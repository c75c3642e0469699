// What the scene's file says of a line, changed from here: its text, where it begins and ends in its recording, its voice
// factor. It is written into the file, and the line is listened to anew.

import { Refused, ofLine, tell } from "./api.js";
import { announce, make } from "./dom.js";
import { button, buttons, field } from "./fields.js";

const seconds = (us) => (us === null ? "" : String(us / 1e6));

/** Return the fields; `player` gives the time for "in here" and "out here", `written` is called once it is listened to. */
export function entryFields(model, editor, player, written) {
  const { entry } = model.view;
  const number = (value, step) => make("input", { type: "number", step, min: "0", ".value": value });
  const text = make("textarea", { rows: "3", spellcheck: "true", maxlength: "5000", ".value": entry.text });
  const [begins, ends] = [number(seconds(entry.in_us), "any"), number(seconds(entry.out_us), "any")];
  const factor = number(entry.voice_factor ?? "", "any");
  const refused = make("p", { class: "doubt", role: "alert" });
  const us = (input) => (input.value === "" ? null : Math.round(Number(input.value) * 1e6));
  const here = (input) => () => {
    input.value = ((entry.in_us ?? 0) + Math.max(0, player.positionUs)) / 1e6;
  };
  const wanted = () => ({
    text: text.value.trim() === entry.text ? entry.text : text.value.trim(),
    in_us: us(begins),
    out_us: us(ends),
    voice_factor: factor.value === "" ? null : Number(factor.value),
  });
  const write = async () => {
    refused.textContent = "";
    try {
      await tell(ofLine(model.view.id, "/entry"), { was: entry, entry: wanted() });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      refused.textContent = error.message;
      return;
    }
    announce("written; listening");
    await editor.listen();
    written();
  };
  const usual = model.view.found_factor ?? null;
  return make(
    "details",
    { class: "entry" },
    make("summary", {}, "Text, in and out, voice factor"),
    field("text of the line", text),
    field("in, seconds of the recording", begins),
    field("out, seconds of the recording", ends),
    buttons(button("In here", here(begins)), button("Out here", here(ends))),
    field("voice factor", factor),
    make("p", { class: "quiet" }, usual === null ? "0.5 to 2; empty: it is found" : `0.5 to 2; empty: that of the character, ${usual}`),
    buttons(button("Write it and listen", write)),
    refused,
  );
}
