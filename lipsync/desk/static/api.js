// Asks the desk. Whatever it refuses comes as a Refused with one sentence for the person.

export class Refused extends Error {
  /** `status` is HTTP's, 0 where nobody answered; `line` is the line as it stands, where it was changed meanwhile. */
  constructor(status, sentence, line = null) {
    super(sentence);
    this.status = status;
    this.line = line;
  }
}

export const NO_ANSWER = "The desk does not answer. Is it still running in its terminal?";

async function fetched(path, settings) {
  let answer;
  try {
    answer = await fetch(path, { credentials: "same-origin", redirect: "error", ...settings });
  } catch {
    throw new Refused(0, NO_ANSWER);
  }
  if (answer.ok) return answer;
  let said = {};
  try {
    said = await answer.json();
  } catch {
    // A refusal without a sentence: its number has to do.
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

/** Send a table, and return what the desk says. */
export async function tell(path, table) {
  const body = JSON.stringify(table);
  return (await fetched(path, { method: "POST", headers: { "content-type": "application/json" }, body })).json();
}

/** Return the path of a line. */
export function ofLine(id, more = "") {
  return `/api/lines/${encodeURIComponent(id)}${more}`;
}
