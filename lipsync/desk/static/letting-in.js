// Lets this browser in: the token behind "#" in the printed address is sent once, and what the desk gives for it is
// kept in the page's own storage: only pages of the same address and port can read it, in every window. (A cookie would be
// readable at other ports too.)

const NAME = "lipsync desk: let in";
const TOKEN = /^#\/open\/([\w-]+)$/;
let here = null; // for a browser that stores nothing: kept as long as the page is open

/** Return {key, proof}: the browser shows the key to the desk, the desk shows the proof; null if not let in. */
export function pass() {
  try {
    const found = JSON.parse(localStorage.getItem(NAME));
    return typeof found?.key === "string" && typeof found.proof === "string" ? found : here;
  } catch {
    return here;
  }
}

/** Return the token of the address, and remove it from there, so that the browser does not store it; null if none. */
export function tokenOfAddress() {
  const token = TOKEN.exec(location.hash)?.[1] ?? null;
  if (token) history.replaceState(null, "", location.pathname);
  return token;
}

/** Keep what the desk gave for a token. */
export function keepPass({ key, proof }) {
  here = { key, proof };
  try {
    localStorage.setItem(NAME, JSON.stringify(here));
  } catch {
    // A browser that stores nothing: this window still has it.
  }
}
