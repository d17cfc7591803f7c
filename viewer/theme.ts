/**
 * Colours as CSS custom properties, from the one table of states: dark unless the system asks for light, light on
 * paper. What is drawn on a canvas asks here, because a canvas does not see the style sheet.
 */
import { ALL_LOOKS, GROUND } from "../shared/states.ts";
import { isPrinting } from "./pace.ts";

type Ground = keyof typeof GROUND;

/** Lines of the curve. None is the colour of a state; each line carries a letter as well. */
const LINES: Readonly<Record<Ground, readonly string[]>> = {
  dark: ["#7fd1b0", "#e9e6df", "#c3a6ff", "#a8cf5e", "#ff9fb0", "#8fb8ff"],
  light: ["#1b7a5c", "#171c22", "#6a42c2", "#4f6f00", "#b3264a", "#2c5bb8"],
};

const LIGHT_QUERY = "(prefers-color-scheme: light)";

/** To be put in the page once, before anything is drawn. */
export function themeStyle(): string {
  const [dark, light] = [properties("dark"), properties("light")];
  const classes = ALL_LOOKS.map(
    ({ key }) => `.s-${key}{--fill:var(--${key}-fill);--ink-on:var(--${key}-ink);--edge:var(--${key}-edge)}`,
  ).join("");
  return `:root{color-scheme:dark;${dark}}@media ${LIGHT_QUERY}{:root{color-scheme:light;${light}}}@media print{:root{color-scheme:light;${light}}}html.printing{${light}}${classes}`;
}

function properties(ground: Ground): string {
  const page = Object.entries(GROUND[ground]).map(([name, colour]) => `--${name}:${colour}`);
  const looks = ALL_LOOKS.map(({ key, look }) => {
    const { fill, ink, outline } = look[ground];
    return `--${key}-fill:${fill ?? "var(--paper)"};--${key}-ink:${ink};--${key}-edge:${outline}`;
  });
  return [...page, ...looks].join(";");
}

/** Asked once and kept: it is read for every line of a chart at every frame. */
let light: MediaQueryList | null = null;

function lightQuery(): MediaQueryList {
  light ??= matchMedia(LIGHT_QUERY);
  return light;
}

export function ground(): Ground {
  if (isPrinting()) return "light";
  return lightQuery().matches ? "light" : "dark";
}

export function lineColour(index: number): string {
  const lines = LINES[ground()];
  return lines[index % lines.length]!;
}

export function onGroundChange(listener: () => void): void {
  lightQuery().addEventListener("change", listener);
}
