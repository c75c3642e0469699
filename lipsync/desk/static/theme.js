// Light, dark, or as the system has it.

import { make } from "./dom.js";
import { set, settings } from "./settings.js";

const THEMES = { system: "as the system", light: "light", dark: "dark" };

export function themeChoice() {
  const options = Object.entries(THEMES).map(([value, label]) =>
    make("option", { value, selected: settings.theme === value }, label),
  );
  const choice = make("select", { "aria-label": "Light or dark", class: "theme" }, options);
  choice.addEventListener("change", () => set("theme", choice.value));
  return choice;
}
