// Sends requests to the desk. A request that the desk refuses throws a Refused with one sentence for the person.

import { keepPass, pass } from "./letting-in.js";

export class Refused extends Error {
  /** `status` is HTTP's, 0 if nobody answered; `line` is the line's present state, if it was changed meanwhile. */
  constructor(status, sentence, line = null) {
    super(sentence);
    this.status = status;
    this.line = line;
  }
}

export const NO_ANSWER = "The desk does not answer. Is it still running in its terminal?";
const ANOTHER = "What answers here is another start of the desk, or no desk. Open the address that the terminal shows.";

async function fetched(path, settings) {
  let answer;
  const shown = pass() ? { authorization: `Bearer ${pass().key}` } : {};
  const headers = { ...shown, ...settings?.headers };
  try {
    answer = await fetch(path, { credentials: "omit", redirect: "error", ...settings, headers });
  } catch {
    throw new Refused(0, NO_ANSWER);
  }
  if (answer.ok) return answer;
  let said = {};
  try {
    said = await answer.json();
  } catch {
    // A refusal without a sentence: the person is shown the status.
  }
  throw new Refused(answer.status, said.error ?? `The desk answers ${answer.status}.`, said.line ?? null);
}

/** Return what the desk says of a path, as a table. */
export async function ask(path) {
  return (await fetched(path)).json();
}

/** Return what the desk sends as bytes. */
export async function bytes(path) {
  return (await fetched(path)).arrayBuffer();
}

/** Send a table, and return the desk's answer; it is sent only to the desk that let this browser in. */
export async function tell(path, table) {
  await still();
  return sent(path, table);
}

/** Send the desk a token, and keep what it gives for it; a token that is used up is no fault if it let this browser in. */
export async function enter(token) {
  try {
    keepPass(await sent("/api/open", { token }));
  } catch (refused) {
    await still().catch(() => {
      throw refused;
    });
  }
}

/** Make sure that the desk that let this browser in is still the one that answers. */
async function still() {
  if ((await ask("/api/still")).proof !== pass()?.proof) throw new Refused(401, ANOTHER);
}

async function sent(path, table) {
  const body = JSON.stringify(table);
  return (await fetched(path, { method: "POST", headers: { "content-type": "application/json" }, body })).json();
}

/** Return the path of a line. */
export function ofLine(id, more = "") {
  return `/api/lines/${encodeURIComponent(id)}${more}`;
}
