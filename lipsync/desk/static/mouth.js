// Draws mouths: the same outlines as on paper; the page has the drawing of each piece once, and refers to it.

import { draw } from "./dom.js";

const grey = (value) => (value === null ? "none" : `rgb(${Array(3).fill(Math.round(255 * value)).join(" ")})`);

/** Put the drawings of a mouth set into the page. */
export function keepDrawings(setName, mouthSet, height) {
  const place = document.getElementById("drawings");
  for (const piece of mouthSet.pieces) {
    const id = drawingId(setName, piece.code);
    if (document.getElementById(id)) continue;
    const paths = piece.paths.map((path) =>
      draw("path", {
        d: path.d,
        fill: grey(path.fill),
        stroke: grey(path.stroke),
        "stroke-width": path.width,
        "fill-rule": "evenodd",
        "stroke-linejoin": "round",
        "stroke-linecap": "round",
      }),
    );
    const own = piece.picture && draw("image", { href: piece.picture, width: 1, height });
    place.append(draw("symbol", { id, viewBox: `0 0 1 ${height}` }, own, ...paths));
  }
}

function drawingId(setName, code) {
  return `mouth ${setName} ${code}`.replaceAll(" ", "_");
}

/** Return a drawing of a piece; `show` below changes which piece it shows. */
export function mouthPicture(className) {
  const use = draw("use");
  return draw("svg", { class: className, "aria-hidden": "true", focusable: "false" }, use);
}

/** Let a picture show a piece; no piece if the code is null. */
export function show(picture, setName, code) {
  const use = picture.firstChild;
  const href = code === null || code === undefined ? "" : `#${drawingId(setName, code)}`;
  if (use.getAttribute("href") !== href) use.setAttribute("href", href);
}
