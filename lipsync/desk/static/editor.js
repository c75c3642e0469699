// Sends changes to the desk, one after the other, each with the version of the line that the person sees.
//
// What the desk refuses, changes nothing on disk. A change that nobody answered, or that could not be written, is kept
// and can be sent again. If the line was changed meanwhile, the person is shown both states ("conflict").

import { Refused, ask, ofLine, tell } from "./api.js";
import { announce, banner } from "./dom.js";

const LOOK_EACH_MS = 2000;

export class Editor extends EventTarget {
  constructor(model) {
    super();
    this.model = model;
    this.last = Promise.resolve(true);
    this.unsent = null;
    this.look = setInterval(() => this.#lookAround(), LOOK_EACH_MS);
  }

  close() {
    clearInterval(this.look);
  }

  /** Make a change; resolves to whether it was made. */
  change(change) {
    return this.#send("/changes", { change }, change);
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

  #send(path, table, change = null) {
    this.last = this.last.then(() => this.#sent(path, table, change));
    return this.last;
  }

  async #sent(path, table, change) {
    const { model } = this;
    this.#busy(true);
    try {
      this.#took(await tell(ofLine(model.view.id, path), { ...table, version: model.view.version }));
      this.unsent = null;
      banner("");
      return true;
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      this.#refused(refused, path, table, change);
      return false;
    } finally {
      this.#busy(false);
    }
  }

  #took(view) {
    this.model.set(view);
    this.track();
    for (const message of view.messages) announce(message);
  }

  #refused(refused, path, table, change) {
    const { model } = this;
    model.drag(0, 0, null);
    if (refused.status === 409) {
      const detail = { mine: model.view, theirs: refused.line, again: change && (() => this.change(change)) };
      this.dispatchEvent(new CustomEvent("conflict", { detail }));
      return;
    }
    if ([0, 401, 503, 507].includes(refused.status)) {
      this.unsent = () => this.#send(path, table, change);
      banner(`Not saved: ${refused.message}`, ["Try again", this.unsent]);
    } else {
      banner(refused.message, ["Close", () => banner("")]);
    }
    announce(refused.message);
  }

  #busy(on) {
    this.busy = on;
    this.dispatchEvent(new Event("busy"));
  }

  /** Notice what another window or another program did to the line. */
  async #lookAround() {
    if (document.hidden || this.busy || this.unsent) return;
    const { view } = this.model;
    try {
      const { version } = await ask(ofLine(view.id, "/version"));
      if (this.waiting) banner("");
      this.waiting = false;
      if (version === this.model.view.version || this.busy || version === this.noticed) return;
      this.noticed = version;
      const theirs = await ask(ofLine(view.id));
      this.dispatchEvent(new CustomEvent("conflict", { detail: { mine: view, theirs, again: null } }));
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      this.waiting = true;
      banner(refused.message);
    }
  }
}
