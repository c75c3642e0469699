// The piece of a frame: put another piece on it, keep a piece off it, or leave it to the program again.

import { make } from "./dom.js";
import { mouthPicture, show } from "./mouth.js";

export function pieceFields(doing) {
  const { model, editor } = doing;
  const { frame } = model.chosen;
  const worn = model.piece(frame);
  const put = model.put.get(frame);
  const off = model.forbidden.get(frame) ?? [];
  const filmed = model.filmed.has(frame);
  const heading = make("h2", {}, `Frame ${model.number(frame)}: ${worn ?? (worn === null ? "off camera" : "no piece yet")}`);
  if (filmed) return [heading, make("p", {}, "This frame is filmed. It stays as it is.")];
  // Stays ticked while the fields of this frame are made anew.
  const forbid = make("input", { type: "checkbox", id: "forbid", "data-name": "keep off", ".checked": doing.keepsOff === frame });
  forbid.addEventListener("change", () => {
    doing.keepsOff = forbid.checked ? frame : null;
  });
  const pieces = model.mouthSet.pieces.map((piece) => {
    const picture = mouthPicture("small");
    show(picture, model.character.mouth_set, piece.code);
    const kept = off.includes(piece.code);
    const name = [piece.code, piece.name, worn === piece.code && "worn", put === piece.code && "put by hand", kept && "kept off"];
    const choose = () =>
      editor.change({ kind: forbid.checked ? "forbid-piece" : "put-piece", frame, code: piece.code });
    return make(
      "button",
      {
        type: "button",
        class: `choice${kept ? " off" : ""}`,
        "data-name": piece.code,
        "aria-pressed": String(worn === piece.code),
        "aria-label": name.filter(Boolean).join(", "),
        onclick: choose,
      },
      picture,
      make("span", {}, piece.code),
    );
  });
  const free = make(
    "button",
    { type: "button", disabled: !put && !off.length, onclick: () => editor.change({ kind: "free-frame", frame }) },
    "Leave it to the program",
  );
  const said = [put && `${put} is put on it by hand`, off.length && `${off.join(", ")} kept off it`].filter(Boolean).join("; ");
  return [
    heading,
    make("p", { class: "quiet" }, said || "chosen by the program"),
    make("div", { class: "pieces" }, pieces),
    make("div", { class: "choices" }, forbid, make("label", { for: "forbid" }, "keep off instead of putting on")),
    make("div", { class: "buttons" }, free),
  ];
}
