// Lets this browser in: the token behind "#" in the printed address is sent once, and what the desk gives for it is
// kept. What a page stores is seen by its own address and port alone, and by every window of it; no cookie is.

const NAME = "lipsync desk: let in";
const TOKEN = /^#\/open\/([\w-]+)$/;
let here = null; // for a browser that keeps nothing: as long as the page is open

/** Return {key, proof}: what this browser shows the desk, and what the desk shows it; null if it was not let in. */
export function pass() {
  try {
    const found = JSON.parse(localStorage.getItem(NAME));
    return typeof found?.key === "string" && typeof found.proof === "string" ? found : here;
  } catch {
    return here;
  }
}

/** Return the token of the address, taken out of it so that it is not kept; null if there is none. */
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
    // This window knows it.
  }
}
