// The settings of a person on this page; the browser stores them for this address.

const DEFAULTS = { snap: true, theme: "system", letters: true };
const NAME = "lipsync desk";

function kept() {
  try {
    return JSON.parse(localStorage.getItem(NAME)) ?? {};
  } catch {
    return {};
  }
}

export const settings = { ...DEFAULTS, ...kept() };

/** Change a setting, and store it. */
export function set(name, value) {
  settings[name] = value;
  try {
    localStorage.setItem(NAME, JSON.stringify(settings));
  } catch {
    // A browser that stores nothing: the setting lasts until the page is closed.
  }
  if (name === "theme") applyTheme();
}

/** Show the page light, dark, or as the system has it. */
export function applyTheme() {
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  const theme = settings.theme === "system" ? (dark ? "dark" : "light") : settings.theme;
  document.documentElement.dataset.theme = theme;
  dispatchEvent(new Event("theme"));
}
