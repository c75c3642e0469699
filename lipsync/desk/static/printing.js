// Prints the shot of a line: its sheet, packet, charts or preview, with how far each is; stopped, and opened once it is
// done. What is printed goes on while other lines are looked at.

import { Refused, ask, ofLine, tell } from "./api.js";
import { announce, make } from "./dom.js";
import { button, buttons } from "./fields.js";
import { showPrinted } from "./printed.js";

// What can be printed: the word on the button, and its explanation.
const KINDS = {
  sheet: ["Sheet", "the exposure sheet (Ctrl + P)"],
  packet: ["Packet", "all that goes to the set with the shot"],
  chart: ["Charts", "the mouth charts of its characters"],
  preview: ["Preview", "a movie of the mouths, with sound"],
};
const AGAIN_MS = 1500; // if the desk does not answer, the next request waits so long

const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
const isOver = ({ state }) => !["waiting", "printing"].includes(state);

export class Printing {
  constructor(model, editor) {
    Object.assign(this, { model, editor });
    this.runs = new Map(); // kind -> its newest run, as the desk sent it
    this.followed = new Set();
    this.said = make("p", { class: "doubt", role: "alert" });
    this.place = make("div", { class: "runs" });
    const ways = Object.entries(KINDS).map(([kind, [label, title]]) => button(label, () => this.print(kind), { title }));
    this.element = make(
      "section",
      { class: "printing", "aria-label": "Print the shot" },
      make("h2", {}, `Print shot ${model.view.shot}`),
      buttons(...ways),
      this.said,
      this.place,
    );
  }

  close() {
    this.closed = true;
  }

  /** Show what is being printed of this shot already. */
  async open() {
    const { runs } = await ask("/api/runs").catch((refused) => this.#tell(refused) ?? { runs: [] });
    const { scene, shot } = this.model.view;
    for (const run of runs) if (run.scene === scene && run.shot === shot && !isOver(run)) this.#follow(run, false);
  }

  /** Print something, after all changes are saved. */
  async print(kind) {
    this.said.textContent = "";
    await this.editor.last;
    if (this.editor.unsent) {
      this.said.textContent = "A change of this line is not saved, and would be missing. Save it first, or let it be.";
      return;
    }
    try {
      this.#follow(await tell(ofLine(this.model.view.id, "/print"), { kind }), true);
      announce(`printing: ${kind}`);
    } catch (refused) {
      this.#tell(refused);
    }
  }

  /** Show how far a run is until it is over; `opens` shows what was printed then. */
  async #follow(run, opens) {
    this.#show(run);
    if (this.followed.has(run.run)) return;
    this.followed.add(run.run);
    let now = run;
    while (!isOver(now)) {
      try {
        now = await ask(`/api/runs/${run.run}?seen=${encodeURIComponent(now.seen)}`);
      } catch (refused) {
        this.#tell(refused);
        if (this.closed || refused.status === 404) return;
        await wait(AGAIN_MS);
        continue;
      }
      if (this.closed) return;
      this.#show(now);
    }
    this.followed.delete(run.run);
    announce(saidOf(now));
    const isFree = this.element.isConnected && !document.querySelector("dialog[open]") && !this.editor.isOccupied;
    if (opens && now.files.length && isFree) this.#open(now, 0);
  }

  async #open(run, file) {
    try {
      await showPrinted(run, file);
    } catch (refused) {
      this.#tell(refused);
    }
  }

  async #stop(run) {
    try {
      this.#show(await tell(`/api/runs/${run.run}/stop`, {}));
    } catch (refused) {
      this.#tell(refused);
    }
  }

  #tell(refused) {
    if (!(refused instanceof Refused)) throw refused;
    this.said.textContent = refused.message;
  }

  #show(run) {
    const newest = this.runs.get(run.kind);
    if (newest && newest.run > run.run) return;
    this.runs.set(run.kind, run);
    const name = this.place.contains(document.activeElement) ? document.activeElement.dataset.name : null;
    this.place.replaceChildren(...[...this.runs.values()].map((one) => this.#fields(one)));
    if (name) (this.place.querySelector(`[data-name="${name}"]`) ?? this.element.querySelector("button")).focus();
  }

  #fields(run) {
    const list = (texts, kind) => texts.length > 0 && make("ul", { class: kind }, texts.map((text) => make("li", {}, text)));
    const stop = button("Stop", () => this.#stop(run), { "data-name": `stop ${run.kind}`, "aria-label": `Stop printing the ${run.kind}` });
    const share = run.total ? { max: run.total, value: run.done } : {}; // without a value the bar only shows activity
    return make(
      "div",
      { class: "run", "data-state": run.state },
      make("p", { class: run.problems.length ? "doubt" : "quiet" }, saidOf(run)),
      !isOver(run) && make("div", { class: "buttons row-of" }, make("progress", { ...share, "aria-label": run.kind }), stop),
      ...run.files.map((file, k) => buttons(button(`Open ${nameOf(file)}`, () => this.#open(run, k)))),
      list(run.problems, "doubt"),
      list(run.messages, "quiet"),
    );
  }
}

export const nameOf = (file) => file.slice(file.lastIndexOf("/") + 1);

/** How far a run is, in words. */
function saidOf({ kind, state, what, done, total, files, problems }) {
  if (state === "waiting") return `${kind}: waits for what is being printed before it`;
  if (state === "printing") return what ? `${kind}: ${what}${total ? `, ${done} of ${total}` : ""}` : `${kind}: begun`;
  if (state === "stopped") return `${kind}: stopped`;
  if (state === "refused") return `${kind}: not printed`;
  return `${kind}: ${problems.length ? "a part of it could not be printed" : "printed"}: ${files.join(", ")}`;
}
