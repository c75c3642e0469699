// News: the page hears of every change on disk, by any program, well within a second. It comes as events:
//
// "changed": something on disk changed; "refused": the desk does not answer, with the sentence as detail; "answers": the
// desk answers again.

import { Refused, ask } from "./api.js";

const AGAIN_MS = 1500;
const BEGIN_MS = 200; // the first request for news waits, so that what is shown is requested before it (chosen)

export const news = new EventTarget();
let seen = "";

const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

async function listen() {
  let refusing = false;
  await wait(BEGIN_MS);
  for (;;) {
    try {
      const told = await ask(`/api/news?seen=${encodeURIComponent(seen)}`); // answered when there is news, or after a while
      if (refusing) news.dispatchEvent(new Event("answers"));
      refusing = false;
      if (told.seen !== seen) {
        seen = told.seen;
        news.dispatchEvent(new Event("changed"));
      }
    } catch (refused) {
      if (!(refused instanceof Refused)) throw refused;
      refusing = true;
      news.dispatchEvent(new CustomEvent("refused", { detail: refused.message }));
      await wait(AGAIN_MS);
    }
    while (document.hidden) await wait(AGAIN_MS);
  }
}

listen();
