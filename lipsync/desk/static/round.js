// A round: every doubt of the production, one after the other, each heard with what is around it and answered with a key.
//
// The next doubt is played at once, while the answer to the last one is still being saved; its line was loaded before.
// If an answer is refused, its doubt comes back.

import { Refused, ask } from "./api.js";
import { announce, banner, make, many } from "./dom.js";
import { bindEverywhere, keysDialog } from "./keying.js";
import { news } from "./news.js";
import { Player } from "./player.js";
import { Answering } from "./round-answering.js";
import { KEYS, bindRoundKeys } from "./round-keys.js";
import { RoundLines, around, findIn } from "./round-lines.js";
import { roundPanel } from "./round-panel.js";
import { Queue, keyOf } from "./round-queue.js";
import { roundTop } from "./round-top.js";

const LINES_AHEAD = 4;
const LOOK_EACH_MS = 3000; // how often the round looks for doubts that came up meanwhile

let left = null; // the doubt at which a round was left, and which round: the same round goes on from there

export class Round extends EventTarget {
  constructor(production, told, wanted) {
    super();
    Object.assign(this, { production, wanted, unread: told.unread });
    this.player = new Player();
    this.lines = new RoundLines(production, this.player);
    this.scenes = [...new Set([...told.doubts.map(({ scene }) => scene), wanted.scene].filter(Boolean))].sort();
    this.queue = new Queue(told.doubts, wanted);
    if (left?.round === this.name) this.queue.beginWith(left.key);
    this.total = this.queue.left;
    this.answering = new Answering(this);
    this.waits = []; // for each answer, the ms until the next sound
    this.asked = null; // {item, line}
    this.turn = 0;
  }

  get name() {
    return new URLSearchParams(this.wanted).toString();
  }

  /** Ask the next doubt; `since` is the time of the last answer. */
  async ask(since = null) {
    const item = this.queue.now;
    this.turn += 1;
    const mine = this.turn;
    this.player.stop();
    if (!item) {
      this.asked = null;
      this.#told();
      return;
    }
    left = { round: this.name, key: keyOf(item) };
    const line = await this.#loaded(item);
    if (mine !== this.turn) return;
    if (!line) return;
    const before = this.asked?.line;
    this.asked = { item, line };
    if (before !== line) this.player.take(line.sound);
    this.#hear(since);
    this.lines.keep([...new Set([line.id, ...this.queue.lines(LINES_AHEAD)])]);
    setTimeout(() => mine === this.turn && this.#told()); // after the sound has begun
  }

  async #loaded(item) {
    try {
      return await this.lines.get(item.line);
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      if (this.queue.now !== item) return null;
      banner(`Line ${item.line} is left for later: ${refused.message}`);
      this.queue.postpone(true);
      this.ask();
      return null;
    }
  }

  #hear(since) {
    if (since !== null) {
      const { player } = this;
      const started = () => this.waits.push(performance.now() - since + 1000 * (player.playing.began - player.context.currentTime));
      this.player.addEventListener("start", started, { once: true });
    }
    this.again();
  }

  #told() {
    this.dispatchEvent(new Event("asked"));
  }

  /** The place of the present doubt in its line as it stands now; null if it is no doubt any more. */
  get where() {
    return this.asked && findIn(this.asked.line.model, this.asked.item);
  }

  /** Play the doubt with what is around it. */
  again() {
    const { item, line } = this.asked ?? {};
    if (item) this.player.play(...around(line.model, item));
  }

  /** Play the doubt alone, over and over. */
  alone() {
    const { item } = this.asked ?? {};
    if (!item) return;
    if (this.player.playing?.loop) this.player.stop();
    else this.player.play(item.start_us, item.end_us, true);
  }

  /** Leave the doubt for later; with `line`, all doubts of its line. */
  later(since, line = false) {
    if (!this.asked) return;
    const count = this.queue.postpone(line);
    announce(`${many(count, "doubt")} left for later`);
    this.ask(since);
  }

  /** Ask the doubts that were left for later. */
  askLater() {
    this.queue.askLater();
    this.ask();
  }

  /** Add doubts that came up since the round began. */
  async look() {
    const told = await ask("/api/round").catch((refused) => {
      if (!(refused instanceof Refused)) throw refused;
      return null;
    });
    if (!told) return;
    this.unread = told.unread;
    const [before, now] = [this.queue.left, this.queue.now];
    this.queue.add(told.doubts);
    if (now) this.queue.back(now);
    this.total += this.queue.left - before;
    if (!this.asked && this.queue.now) this.ask();
    else this.dispatchEvent(new Event("counted"));
  }

  close() {
    this.turn += 1;
    this.player.stop();
    this.answering.last.then(() => {
      this.lines.close();
      this.player.context?.close();
    });
  }
}

export function roundPage(production, told, wanted) {
  const round = new Round(production, told, wanted);
  const keys = keysDialog(KEYS);
  const sheets = make("div", { class: "round-sheet" });
  const panel = roundPanel(round);
  const top = roundTop(round, () => keys.showModal());
  const element = make("div", { class: "line-page round-page" }, top, make("main", { class: "line", tabindex: "-1" }, sheets, panel), keys);
  element.round = round; // for code outside the page, such as tests

  const show = () => {
    const { line, item } = round.asked ?? {};
    if (!line) {
      sheets.replaceChildren();
      element.querySelector("main").focus({ preventScroll: true });
      return;
    }
    const { sheet, model } = line;
    if (sheets.firstChild !== sheet) {
      sheets.replaceChildren(sheet);
      if (sheet.model) sheet.measure();
      else {
        sheet.open(model, round.player);
        model.addEventListener("line", () => round.asked?.line === line && round.dispatchEvent(new Event("asked")));
      }
    }
    model.choose(round.where ?? null);
    sheet.bring(sheet.y(item.start_us));
    sheet.scroller.focus({ preventScroll: true });
  };
  round.addEventListener("asked", show);
  let closed = false;
  const follow = () => {
    if (closed) return;
    if (round.player.playing && round.asked?.line.sheet.model) round.asked.line.sheet.follow(round.player.positionUs);
    requestAnimationFrame(follow);
  };
  requestAnimationFrame(follow);
  let looking = null;
  const changed = () => {
    looking ??= setTimeout(() => {
      looking = null;
      if (!closed) round.look();
    }, LOOK_EACH_MS);
  };
  news.addEventListener("changed", changed);
  const toSheet = () => (round.asked?.line.sheet.scroller ?? element.querySelector("main")).focus();
  const ends = [bindRoundKeys(round, panel), bindEverywhere(keys, toSheet)];
  return {
    element,
    shown: () => round.ask(),
    close: () => {
      closed = true;
      news.removeEventListener("changed", changed);
      for (const end of ends) end();
      round.close();
      banner("");
    },
  };
}
