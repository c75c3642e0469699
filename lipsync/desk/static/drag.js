// Dragging a boundary: the sound at its place is played, the picture follows, and it is saved when it is released.
//
// With "snap to frames" a boundary moves from row to row; holding Shift switches to the opposite. Escape gives it up.

import { announce } from "./dom.js";
import { settings } from "./settings.js";

const SCRUB_EACH_MS = 60;

export function draggable(element, sheet) {
  let drag = null;
  element.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    event.preventDefault();
    const { model } = sheet;
    model.choose(element.at);
    element.focus({ preventScroll: true });
    element.setPointerCapture(event.pointerId);
    const { part, boundary } = element.at;
    const us = model.times(part)[boundary];
    if (model.isFilmed(us)) {
      announce(element.title);
      return; // chosen, but locked
    }
    drag = { part, boundary, offset: us - sheet.usAtClient(event.clientY), fromUs: us, us, heard: 0 };
    sheet.player.stop();
    document.addEventListener("keydown", escape, true);
  });
  element.addEventListener("pointermove", (event) => {
    if (!drag) return;
    const { model } = sheet;
    let us = sheet.usAtClient(event.clientY) + drag.offset;
    if (settings.snap !== event.shiftKey) us = model.snapped(us);
    const shown = model.drag(drag.part, drag.boundary, us);
    if (shown === drag.us) return;
    drag.us = shown;
    sheet.player.seek(shown);
    sheet.follow(shown);
    if (event.timeStamp - drag.heard > SCRUB_EACH_MS) {
      drag.heard = event.timeStamp;
      sheet.player.grain(shown);
    }
  });
  const end = () => {
    const done = drag;
    drag = null;
    document.removeEventListener("keydown", escape, true);
    return done;
  };
  const escape = (event) => {
    if (event.key !== "Escape" || !drag) return;
    event.stopPropagation();
    const { part, boundary } = end();
    sheet.model.drag(part, boundary, null);
  };
  element.addEventListener("pointerup", () => {
    const done = end();
    if (!done) return;
    if (done.us === done.fromUs) sheet.model.drag(done.part, done.boundary, null);
    else sheet.editor.change({ kind: "move-boundary", part: done.part, boundary: done.boundary, to_us: done.us });
  });
  element.addEventListener("pointercancel", () => {
    const done = end();
    if (done) sheet.model.drag(done.part, done.boundary, null);
  });
}
