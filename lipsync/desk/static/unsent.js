// A change that could not be saved, kept by the browser until it is, or until the person lets it be: also when the page
// or the browser was closed meanwhile. One for each line.

const NAME = "lipsync desk: not saved";

function all() {
  try {
    return JSON.parse(localStorage.getItem(NAME)) ?? {};
  } catch {
    return {};
  }
}

function keep(table) {
  try {
    if (Object.keys(table).length) localStorage.setItem(NAME, JSON.stringify(table));
    else localStorage.removeItem(NAME);
  } catch {
    // A browser that keeps nothing: the change stays as long as the page is open.
  }
}

/** Return what was not saved of a line: {path, table}, with the version that the person saw; null if nothing. */
export function recalled(id) {
  const found = all()[id];
  return typeof found?.path === "string" && typeof found.table?.version === "string" ? found : null;
}

/** Return the ids of the lines of which something was not saved. */
export function unsavedLines() {
  return new Set(Object.keys(all()));
}

/** Keep what was not saved of a line; null once it is, or is let be. */
export function remember(id, unsent) {
  const { [id]: _, ...others } = all();
  keep(unsent ? { ...others, [id]: unsent } : others);
}

/** What was not saved, in words. */
export function nameOf({ path, table }) {
  return (table.change?.kind ?? path.slice(1)).replaceAll("-", " ");
}
