// Shows what was printed over the whole window: a page in the browser's own viewer, a movie with its sound.
//
// A file is fetched as bytes, with the key like everything else, and is shown from the browser's memory: it has no address
// at which another program, another user or another port could get it.

import { bytes } from "./api.js";
import { make } from "./dom.js";

const TYPES = { pdf: "application/pdf", mp4: "video/mp4" };
const known = new Map(); // files that were fetched already -> their addresses in this page's memory

async function addressOf(run, file, type) {
  const name = `${run.run} ${file}`;
  if (!known.has(name)) known.set(name, URL.createObjectURL(new Blob([await bytes(`/api/runs/${run.run}/files/${file}`)], { type })));
  return known.get(name);
}

/** Show a file of a run that is over. */
export async function showPrinted(run, file) {
  const path = run.files[file];
  const name = path.slice(path.lastIndexOf("/") + 1);
  const type = TYPES[name.slice(name.lastIndexOf(".") + 1)] ?? "application/octet-stream";
  const address = await addressOf(run, file, type);
  const close = () => dialog.close();
  const dialog = make(
    "dialog",
    { class: "printed", "aria-label": name },
    make(
      "div",
      { class: "printed-head" },
      make("h2", {}, name),
      make("p", { class: "folder" }, path),
      make("a", { class: "button", href: address, target: "_blank", rel: "noopener" }, "In a window of its own"),
      make("a", { class: "button", href: address, download: name }, "Save a copy"),
      make("button", { type: "button", class: "main", onclick: close }, "Close"),
    ),
    shown(type, address, name),
  );
  const before = document.activeElement;
  dialog.addEventListener("close", () => {
    dialog.remove();
    before?.focus?.({ preventScroll: true });
  });
  document.body.append(dialog);
  dialog.showModal();
  dialog.querySelector("button").focus();
}

function shown(type, address, name) {
  if (type === TYPES.mp4) return make("video", { src: address, controls: true, "aria-label": `${name}; its words stand in the picture` });
  if (navigator.pdfViewerEnabled === false) return make("p", {}, "This browser shows no pages of paper itself: save a copy, and open that.");
  return make("iframe", { src: address, title: name });
}
