// News: whatever is changed on disk, by whomever, is told to what is shown, well within a second.
//
// "changed": something is not as it was; "refused": the desk does not answer, with the sentence as detail; "answers": it
// does again.

import { Refused, ask } from "./api.js";

const AGAIN_MS = 1500;
const BEGIN_MS = 200; // what is shown first is asked for first (chosen)

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
