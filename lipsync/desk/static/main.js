// The page: the list of lines, one line, or a round of doubts. The address behind "#" says what is shown.

import { NO_ANSWER, Refused, ask, enter, ofLine } from "./api.js";
import { make } from "./dom.js";
import { tokenOfAddress } from "./letting-in.js";
import { keepDrawings } from "./mouth.js";
import { applyTheme } from "./settings.js";

const page = document.getElementById("page");
let open = null; // what is shown; it is closed before something else is shown
let wanted = 0;

// The modules of a page load while the desk is asked for what it shows; those of a line also when the list is there.
const modules = { list: () => import("./list.js"), line: () => import("./line.js"), round: () => import("./round.js") };
const LATER_MS = 300;

async function go() {
  const mine = (wanted += 1);
  open?.leave?.();
  open?.close();
  open = null;
  try {
    const token = tokenOfAddress();
    if (token) await enter(token);
    const [production, place] = await Promise.all([ask("/api/production"), placeOf(location.hash)]);
    if (mine !== wanted) return;
    for (const [name, set] of Object.entries(production.mouth_sets)) keepDrawings(name, set, production.mouth_height);
    document.title = `${place.title ? `${place.title} · ` : ""}${production.title} · listening desk`;
    open = place.open(production);
    page.replaceChildren(open.element);
    open.shown?.();
    setTimeout(() => Promise.all([modules.line(), modules.round()]).catch(() => {}), LATER_MS);
  } catch (refused) {
    if (!(refused instanceof Refused)) throw refused;
    if (mine === wanted) page.replaceChildren(sorry(refused));
  }
}

/** What an address shows: the title of the window, and the function that opens it. */
async function placeOf(hash) {
  const [path, asked] = hash.split("?");
  const wanted = new URLSearchParams(asked);
  const id = /^#\/line\/(.+)$/.exec(path)?.[1];
  if (id) {
    const [page, line] = await Promise.all([modulesOf("line"), ask(ofLine(decodeURIComponent(id)))]);
    const at = { doubt: Number(wanted.get("doubt")) || 0, us: wanted.has("us") ? Number(wanted.get("us")) || 0 : undefined };
    return { title: line.id, open: (production) => page.linePage(production, line, at) };
  }
  if (path === "#/round") {
    const [page, round] = await Promise.all([modulesOf("round"), ask("/api/round")]);
    return { title: "round", open: (production) => page.roundPage(production, round, Object.fromEntries(wanted)) };
  }
  const [page, list] = await Promise.all([modulesOf("list"), ask("/api/lines")]);
  return { title: "", open: (production) => page.listPage(production, list) };
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
addEventListener("reopen", go);
go();
