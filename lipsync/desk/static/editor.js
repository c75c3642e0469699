// Sends changes to the desk, one after the other, each with the version of the line that the person sees.
//
// A change that the desk refuses changes nothing on disk. A change that nobody answered, or that could not be written, is
// kept (unsent.js) and sent again before any other change. If the line was changed by someone else meanwhile, the person
// is shown both states ("conflict").

import { Refused, ask, ofLine, tell } from "./api.js";
import { announce, banner } from "./dom.js";
import { news } from "./news.js";
import { nameOf, recalled, remember } from "./unsent.js";

const MAY_BE_SAVED_LATER = [0, 401, 503, 507]; // nobody answered, not let in, not readable, disk full

export class Editor extends EventTarget {
  /** `pieces`: whether to fetch the piece on each frame. */
  constructor(model, { pieces = true } = {}) {
    super();
    this.model = model;
    this.pieces = pieces;
    this.last = Promise.resolve(true);
    this.unsent = recalled(model.production, model.view.id);
    this.told = {
      changed: () => this.#lookAround(),
      refused: ({ detail }) => this.unsent || banner(detail),
      answers: () => this.unsent || banner(""),
    };
    for (const [what, act] of Object.entries(this.told)) news.addEventListener(what, act);
    this.leaving = (event) => (this.unsent || this.busy) && event.preventDefault();
    addEventListener("beforeunload", this.leaving);
  }

  close() {
    for (const [what, act] of Object.entries(this.told)) news.removeEventListener(what, act);
    removeEventListener("beforeunload", this.leaving);
  }

  /** Say what was not saved when this line was open the last time. */
  recall() {
    if (this.unsent) this.#ask("It was not saved when this line was last open");
  }

  /** Make a change; resolves to true if it was made. */
  change(change) {
    return this.#send("/changes", { change });
  }

  undo() {
    return this.model.view.undo === null ? Promise.resolve(false) : this.#send("/undo", {});
  }

  redo() {
    return this.model.view.redo === null ? Promise.resolve(false) : this.#send("/redo", {});
  }

  listen() {
    return this.#send("/listen", {});
  }

  /** Fetch the piece on each frame, for the line as it stands. */
  async track() {
    if (!this.pieces) return;
    try {
      const track = await ask(ofLine(this.model.view.id, "/track"));
      if (track.version === this.model.view.version) this.model.setTrack(track);
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      this.model.setTrack({ pieces: [], fitted: [], serves: [], lost: [], messages: [refused.message] });
    }
  }

  /** Show the line as it stands on disk. */
  async refresh() {
    banner("");
    this.#took(await ask(ofLine(this.model.view.id)));
  }

  #send(path, table) {
    const { parts } = this.model;
    this.last = this.last.then(async () => {
      if (this.unsent && !(await this.#retried(parts))) return false;
      return this.#sent(path, { ...table, version: this.model.view.version });
    });
    return this.last;
  }

  async #sent(path, table) {
    const { model } = this;
    this.#busy(true);
    try {
      this.#took(await tell(ofLine(model.view.id, path), table));
      this.#keep(null);
      banner("");
      return true;
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      this.#refused(refused, path, table);
      return false;
    } finally {
      this.#busy(false);
    }
  }

  /** Send what was not saved before anything else; resolves to whether the next change still fits the line as it stands. */
  async #retried(parts) {
    const { path, table } = this.unsent;
    if (!(await this.#sent(path, table))) {
      if (this.unsent) this.#ask("The change after it was not made either.");
      return false;
    }
    const now = this.model.parts;
    if (now.length === parts.length && now.every((part, k) => part.text === parts[k].text)) return true;
    this.#say("The change before this one is saved now, and words lie otherwise. Look, and make this change again.");
    return false;
  }

  #keep(unsent) {
    this.unsent = unsent;
    remember(this.model.production, this.model.view.id, unsent);
  }

  #ask(why) {
    const again = () => {
      this.last = this.last.then(() => this.unsent === null || this.#sent(this.unsent.path, this.unsent.table));
    };
    const drop = () => {
      this.#keep(null);
      banner("");
    };
    banner(`Not saved: ${nameOf(this.unsent)}. ${why}`, ["Try again", again], ["Let it be", drop]);
  }

  #say(text) {
    banner(text, ["Close", () => banner("")]);
    announce(text);
  }

  #took(view) {
    this.model.set(view);
    this.track();
    for (const message of view.messages) announce(message);
  }

  #refused(refused, path, table) {
    const { model } = this;
    model.drag(0, 0, null);
    if (MAY_BE_SAVED_LATER.includes(refused.status)) {
      this.#keep({ path, table });
      this.#ask(refused.message);
    } else {
      this.#keep(null);
      if (refused.status === 409) this.#conflict(refused.line, path, table);
      else this.#say(refused.message);
      return;
    }
    announce(refused.message);
  }

  #conflict(theirs, path, table) {
    banner("");
    const again = table.change ? () => this.change(table.change) : null;
    const detail = { mine: this.model.view, theirs, again, lost: nameOf({ path, table }) };
    this.dispatchEvent(new CustomEvent("conflict", { detail }));
  }

  #busy(on) {
    this.busy = on;
    this.dispatchEvent(new Event("busy"));
  }

  /** Show what another window or another program did to the line, unless the person is busy here. */
  async #lookAround() {
    if (this.busy || this.unsent) return;
    const { view, production } = this.model;
    try {
      const { version, number } = await ask(ofLine(view.id, "/version"));
      if (this.busy || this.model.view !== view) return;
      if (number !== this.number && number !== production.number) {
        this.number = number;
        this.dispatchEvent(new Event("production"));
      }
      if (version === view.version || version === this.noticed) return;
      const theirs = await ask(ofLine(view.id));
      if (this.busy || this.model.view !== view) return;
      if (this.isOccupied) {
        this.noticed = version;
        this.dispatchEvent(new CustomEvent("conflict", { detail: { mine: view, theirs, again: null, lost: null } }));
        return;
      }
      this.#took(theirs);
      this.#say("This line was changed outside this window. It is shown as it stands now; Undo brings back what was.");
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      banner(refused.message);
    }
  }

  /** Whether the person is in the middle of something that would be lost: dragging a boundary, filling in a field. */
  get isOccupied() {
    const typing = "input:not([type=checkbox]), textarea, dialog[open], dialog[open] *";
    return Boolean(this.model.draft || document.activeElement?.matches(typing));
  }
}
