// The whole shot of a line: who else speaks, what and when. Its sound is heard with the line, or by itself.

import { Refused, ask, bytes, ofLine } from "./api.js";
import { make } from "./dom.js";
import { Player } from "./player.js";

export class Others {
  /** `load` loads the line's own sound again. */
  constructor(model, player, load) {
    Object.assign(this, { model, player, load });
    this.lines = [];
    this.player2 = new Player(); // for all sound that is not the line's own
    this.said = make("p", { class: "quiet", role: "status" });
    this.place = make("div");
    this.element = make("section", { class: "others", "aria-label": "The whole shot", hidden: true }, make("h2", {}, "The whole shot"), this.place, this.said);
  }

  /** Ask who else speaks in the shot, and draw their words on the sheet. */
  async open(sheet) {
    try {
      const { lines } = await ask(ofLine(this.model.view.id, "/shot"));
      this.lines = lines;
      this.element.hidden = !lines.length;
      this.place.replaceChildren(...this.#fields());
      this.#draw(sheet);
    } catch (refused) {
      this.#tell(refused);
    }
  }

  close() {
    this.player2.stop();
    this.player2.context?.close();
  }

  #tell(refused) {
    if (!(refused instanceof Refused)) throw refused;
    this.element.hidden = false;
    this.said.textContent = refused.message;
  }

  #fields() {
    const { model } = this;
    const withThem = make("input", { type: "checkbox", id: "with-others" });
    withThem.addEventListener("change", () => this.#with(withThem));
    const button = (label, path) => make("button", { type: "button", onclick: () => this.#hear(path) }, label);
    const rows = this.lines.map((line) => {
      const name = model.production.characters[line.character].name;
      const first = model.number(model.rate.frameAt(line.begins_us));
      return make(
        "li",
        {},
        make("a", { href: `#/line/${encodeURIComponent(line.id)}` }, `${line.id} · ${name}`),
        make("p", {}, line.text),
        make("p", { class: "quiet" }, line.reason || `from frame ${first}`),
        button(`Hear ${line.id} alone`, ofLine(line.id, "/sound")),
      );
    });
    return [
      make("div", { class: "choices" }, withThem, make("label", { for: "with-others" }, "the line is heard with the others")),
      button("Hear the whole shot", ofLine(model.view.id, "/shot/sound")),
      make("ul", {}, rows),
    ];
  }

  async #with(box) {
    const { player, model } = this;
    try {
      player.stop();
      if (box.checked) await player.load(await bytes(ofLine(model.view.id, "/shot/sound-with")));
      else await this.load();
      this.said.textContent = box.checked ? "The others are heard too, mixed as in the preview." : "";
    } catch (refused) {
      box.checked = false;
      this.#tell(refused);
    }
  }

  async #hear(path) {
    const { player2 } = this;
    const same = player2.playing && this.heard === path;
    player2.stop();
    if (same) return;
    this.player.stop();
    try {
      if (this.heard !== path) await player2.load(await bytes(path));
      this.heard = path;
      this.said.textContent = "";
      await player2.play(0);
    } catch (refused) {
      this.#tell(refused);
    }
  }

  /** Their words beside the rows on which they are heard. */
  #draw(sheet) {
    const { model } = this;
    const layer = make("div", { class: "others-words", "aria-hidden": "true" });
    for (const { character, parts } of this.lines) {
      const { name } = model.production.characters[character];
      for (const [text, start, end] of parts) {
        const us = start - model.view.begins_us;
        if (us < model.usAt(0) || us > model.usAt(model.rows)) continue;
        const word = make("span", { class: "other", title: name }, `${name}: ${text}`);
        word.style.transform = `translateY(${sheet.y(us)}px)`;
        word.style.height = `${Math.max(2, sheet.y(end - model.view.begins_us) - sheet.y(us))}px`;
        layer.append(word);
      }
    }
    this.layer?.remove();
    this.layer = layer;
    sheet.height.insertBefore(layer, sheet.mouth);
  }
}
