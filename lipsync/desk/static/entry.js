// What the production's files say of a line, changed from here: its text, where it begins in the shot, its part of the
// recording, its voice factor; and its character's accent. It is written into the file, and the line is listened to anew.

import { Refused, ofLine, tell } from "./api.js";
import { announce, make } from "./dom.js";
import { showEnds } from "./ends.js";
import { button, buttons, field } from "./fields.js";

const seconds = (us) => (us === null ? "" : String(us / 1e6));

/** Return the fields; `player` gives the time for "in here" and "out here", `written` is called after the new listening. */
export function entryFields(model, editor, player, written) {
  const { entry } = model.view;
  const number = (value, step) => make("input", { type: "number", step, min: "0", ".value": value });
  const text = make("textarea", { rows: "3", spellcheck: "true", maxlength: "5000", ".value": entry.text });
  const [begins, until] = [number(seconds(entry.in_us), "any"), number(seconds(entry.out_us), "any")];
  const starts = make("input", { type: "text", maxlength: "40", spellcheck: "false", ".value": entry.begins });
  const factor = number(entry.voice_factor ?? "", "any");
  const refused = make("p", { class: "doubt", role: "alert" });
  const us = (input) => (input.value === "" ? null : Math.round(Number(input.value) * 1e6));
  const here = (input) => () => {
    input.value = ((entry.in_us ?? 0) + Math.max(0, player.positionUs)) / 1e6;
  };
  const wanted = () => ({
    text: text.value.trim() === entry.text ? entry.text : text.value.trim(),
    in_us: us(begins),
    out_us: us(until),
    voice_factor: factor.value === "" ? null : Number(factor.value),
    begins: /^-?\d+$/.test(starts.value.trim()) ? Number(starts.value) : starts.value.trim(),
  });
  const send = async (path, table) => {
    refused.textContent = "";
    try {
      await tell(ofLine(model.view.id, path), table);
      return true;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      refused.textContent = error.message;
      return false;
    }
  };
  const write = async (done = () => {}) => {
    const now = wanted();
    if (!(await send("/entry", { was: entry, entry: now }))) return;
    done();
    const heardAlike = JSON.stringify({ ...now, begins: null }) === JSON.stringify({ ...entry, begins: null });
    announce(heardAlike ? "written" : "written; listening");
    if (!heardAlike) await editor.listen();
    written();
  };
  const ends = async () => {
    refused.textContent = "";
    try {
      await showEnds(model, entry, async ({ in_us, out_us }) => {
        begins.value = seconds(in_us);
        until.value = seconds(out_us);
        await new Promise((resolve) => write(resolve).then(resolve)); // the desk listens while the page is shown again
        return refused.textContent;
      });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      refused.textContent = error.message;
    }
  };
  const was = model.character.accent;
  const accent = make("select", {}, model.production.accents.map((name) => make("option", { value: name, selected: name === was }, name)));
  const writeAccent = async () => {
    if (!(await send("/whole", { change: { kind: "set-accent", was, accent: accent.value } }))) return;
    announce("written; listening");
    await editor.listen();
    written();
  };
  const usual = model.view.found_factor ?? null;
  return make(
    "details",
    { class: "entry" },
    make("summary", {}, "Text, begins, in and out, voice factor, accent"),
    field("text of the line", text),
    field("begins, frame of the shot or a time", starts),
    field("in, seconds of the recording", begins),
    field("out, seconds of the recording", until),
    buttons(button("In here", here(begins)), button("Out here", here(until)), button("Drag them on the whole recording", ends)),
    field("voice factor", factor),
    make("p", { class: "quiet" }, usual === null ? "0.5 to 2; empty: it is found" : `0.5 to 2; empty: that of the character, ${usual}`),
    buttons(button("Write it and listen", () => write())),
    field(`accent of ${model.character.name}, in all lines`, accent),
    buttons(button("Write the accent and listen", writeAccent)),
    refused,
  );
}
