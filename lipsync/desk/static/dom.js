// Makes elements. All text goes in as text: a name or a line can never become markup.

/** Return an element with attributes, properties that begin with ".", listeners that begin with "on", and children. */
export function make(tag, settings = {}, ...children) {
  return fill(document.createElement(tag), settings, children);
}

const SVG = "http://www.w3.org/2000/svg";

/** Return an element of SVG, likewise. */
export function draw(tag, settings = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), settings, children);
}

function fill(element, settings, children) {
  for (const [name, value] of Object.entries(settings)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name.startsWith(".")) element[name.slice(1)] = value;
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** Return a number with its noun: "1 line", "2 lines". */
export const many = (count, one, more = `${one}s`) => `${count} ${count === 1 ? one : more}`;

/** Say something to people who use a screen reader. */
export function announce(text) {
  document.getElementById("announcer").textContent = text;
}

/** Show a sentence above the page, with what can be done about it; an empty sentence removes it. */
export function banner(text, ...actions) {
  const place = document.getElementById("banner");
  if (place.contains(document.activeElement)) document.querySelector(".scroller, main")?.focus({ preventScroll: true });
  place.replaceChildren();
  place.classList.toggle("shown", Boolean(text));
  if (!text) return;
  place.append(make("p", {}, text));
  for (const [label, act] of actions) place.append(make("button", { type: "button", onclick: act }, label));
}
