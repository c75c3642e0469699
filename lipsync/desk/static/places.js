// Where a person was in the list: what was sought, how it was sorted, which line, and how far down it stood. Kept as long
// as the window is open, so that the list is found again as it was left, and a line knows which comes next.

const NAME = "lipsync desk: list";
const NONE = { search: "", sort: "order", line: null, top: 0, order: [], figures: false };

function kept() {
  try {
    return { ...NONE, ...JSON.parse(sessionStorage.getItem(NAME)) };
  } catch {
    return { ...NONE };
  }
}

export const listPlace = kept();

/** Keep some of it. */
export function keepPlace(some) {
  Object.assign(listPlace, some);
  try {
    sessionStorage.setItem(NAME, JSON.stringify(listPlace));
  } catch {
    // A browser that keeps nothing: it is known until the page is loaded anew.
  }
}

/** Every line of a list as the desk tells it, in its order. */
export function* linesOf(list) {
  for (const scene of list.scenes) {
    for (const shot of scene.shots) for (const line of shot.lines) yield { ...line, scene: scene.id, shot: shot.id };
  }
}

/** The line after another one, or before with -1, in the order in which the list was left; `fits` says which count. */
export function beside(list, id, way, fits = () => true) {
  const there = new Map([...linesOf(list)].map((line) => [line.id, line]));
  const left = listPlace.order.filter((one) => there.has(one));
  const order = left.includes(id) ? left : [...there.keys()];
  for (let at = order.indexOf(id) + way; at >= 0 && at < order.length; at += way) {
    if (fits(there.get(order[at]))) return there.get(order[at]);
  }
  return null;
}
