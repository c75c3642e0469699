// The page: the list of lines, or one line. What is shown stands in the address behind "#".

import { NO_ANSWER, Refused, ask, enter, ofLine } from "./api.js";
import { make } from "./dom.js";
import { tokenOfAddress } from "./letting-in.js";
import { keepDrawings } from "./mouth.js";
import { applyTheme } from "./settings.js";

const page = document.getElementById("page");
let open = null; // what is shown, to be closed before something else is
let wanted = 0;

// Each page's modules come while the desk is asked for what they show; those of a line also once the list is there.
const modules = { list: () => import("./list.js"), line: () => import("./line.js") };
const LATER_MS = 300;

async function go() {
  const mine = (wanted += 1);
  open?.close();
  open = null;
  try {
    const token = tokenOfAddress();
    if (token) await enter(token);
    const [production, place] = await Promise.all([ask("/api/production"), placeOf(location.hash)]);
    if (mine !== wanted) return;
    for (const [name, set] of Object.entries(production.mouth_sets)) keepDrawings(name, set, production.mouth_height);
    const line = place.line;
    document.title = `${line ? `${line.id} · ` : ""}${production.title} · listening desk`;
    open = line ? place.page.linePage(production, line) : place.page.listPage(production, place.list);
    page.replaceChildren(open.element);
    open.shown?.();
    if (!line) setTimeout(() => modules.line().catch(() => {}), LATER_MS);
  } catch (refused) {
    if (!(refused instanceof Refused)) throw refused;
    if (mine === wanted) page.replaceChildren(sorry(refused));
  }
}

async function placeOf(hash) {
  const id = /^#\/line\/(.+)$/.exec(hash)?.[1];
  const [page, found] = await Promise.all(
    id ? [modulesOf("line"), ask(ofLine(decodeURIComponent(id)))] : [modulesOf("list"), ask("/api/lines")],
  );
  return { page, [id ? "line" : "list"]: found };
}

function modulesOf(page) {
  return modules[page]().catch((error) => {
    throw error instanceof TypeError ? new Refused(0, NO_ANSWER) : error; // a module that cannot be fetched
  });
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
