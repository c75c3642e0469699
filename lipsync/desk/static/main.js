// The page: the list of lines, or one line. What is shown stands in the address behind "#".

import { Refused, ask, ofLine } from "./api.js";
import { make } from "./dom.js";
import { listPage } from "./list.js";
import { linePage } from "./line.js";
import { keepDrawings } from "./mouth.js";
import { applyTheme } from "./settings.js";

const page = document.getElementById("page");
let open = null; // what is shown, to be closed before something else is
let wanted = 0;

async function go() {
  const mine = (wanted += 1);
  open?.close();
  open = null;
  try {
    const [production, place] = await Promise.all([ask("/api/production"), placeOf(location.hash)]);
    if (mine !== wanted) return;
    for (const [name, set] of Object.entries(production.mouth_sets)) keepDrawings(name, set, production.mouth_height);
    const line = place.line;
    document.title = `${line ? `${line.id} · ` : ""}${production.title} · listening desk`;
    open = line ? linePage(production, line) : listPage(production, place.list);
    page.replaceChildren(open.element);
    open.shown?.();
  } catch (refused) {
    if (!(refused instanceof Refused)) throw refused;
    if (mine === wanted) page.replaceChildren(sorry(refused));
  }
}

async function placeOf(hash) {
  const id = /^#\/line\/(.+)$/.exec(hash)?.[1];
  return id ? { line: await ask(ofLine(decodeURIComponent(id))) } : { list: await ask("/api/lines") };
}

function sorry(refused) {
  return make(
    "main",
    { class: "sorry" },
    make("h1", {}, "This cannot be shown"),
    make("p", { role: "alert" }, refused.message),
    make("p", {}, make("button", { type: "button", onclick: go }, "Try again"), " ", make("a", { href: "#/" }, "All lines")),
  );
}

applyTheme();
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", applyTheme);
addEventListener("hashchange", go);
go();
