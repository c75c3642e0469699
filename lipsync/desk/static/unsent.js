// A change that could not be saved: the browser keeps it until it is saved or the person gives it up, even if the page or
// the browser is closed meanwhile. There is at most one for each line of each production.

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
    // A browser that stores nothing: the change is kept as long as the page is open.
  }
}

const keyOf = (production, id) => `${production.folder} ${id}`;

/** Return what was not saved of a line: {path, table}, with the version that the person saw; null if nothing. */
export function recalled(production, id) {
  const found = all()[keyOf(production, id)];
  return typeof found?.path === "string" && typeof found.table?.version === "string" ? found : null;
}

/** Return a function that says whether something was not saved of a line. */
export function unsavedIn(production) {
  const kept = all();
  return (id) => keyOf(production, id) in kept;
}

/** Keep the change of a line that was not saved; null when it is saved or given up. */
export function remember(production, id, unsent) {
  const { [keyOf(production, id)]: _, ...others } = all();
  keep(unsent ? { ...others, [keyOf(production, id)]: unsent } : others);
}

/** The change that was not saved, in words. */
export function nameOf({ path, table }) {
  return (table.change?.kind ?? path.slice(1)).replaceAll("-", " ");
}
