// Where a person was in the list: search text, order, the line, and how far down it was. This is kept as long as the
// window is open: the list is shown as it was left, and the page of a line knows which line comes next.

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

/** Keep some of these values. */
export function keepPlace(some) {
  Object.assign(listPlace, some);
  try {
    sessionStorage.setItem(NAME, JSON.stringify(listPlace));
  } catch {
    // A browser that stores nothing: the values are lost when the page is loaded anew.
  }
}

/** Every line of the desk's list, in its order. */
export function* linesOf(list) {
  for (const scene of list.scenes) {
    for (const shot of scene.shots) for (const line of shot.lines) yield { ...line, scene: scene.id, shot: shot.id };
  }
}

/** The line after another one (with -1 before it), in the order in which the list was left; `fits` selects lines. */
export function beside(list, id, way, fits = () => true) {
  const there = new Map([...linesOf(list)].map((line) => [line.id, line]));
  const left = listPlace.order.filter((one) => there.has(one));
  const order = left.includes(id) ? left : [...there.keys()];
  for (let at = order.indexOf(id) + way; at >= 0 && at < order.length; at += way) {
    if (fits(there.get(order[at]))) return there.get(order[at]);
  }
  return null;
}
