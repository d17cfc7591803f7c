/** The unit that the name of a number says: every number of a file carries it at the end of its name. */

/** How names end, longest first where one ends in another, and the sign of the unit. */
const UNITS: readonly (readonly [string, string])[] = [
  ["PpmPerCelsius", "ppm/°C"],
  ["PpbPerDay", "ppb/day"],
  ["BitsPerSecond", "bit/s"],
  ["Seconds", "s"],
  ["Celsius", "°C"],
  ["Percent", "%"],
  ["Metres", "m"],
  ["Samples", "samples"],
  ["Ppm", "ppm"],
  ["Ppb", "ppb"],
  ["Hz", "Hz"],
];

/** "loop.naturalFrequencyHz" is "loop natural frequency", in Hz. */
export function namedUnit(path: string): { readonly label: string; readonly unit: string } {
  const says = (name: string) => UNITS.find(([end]) => name.endsWith(end) || name === uncapital(end));
  // "comingUpSeconds.madi": what is one of several says its unit before.
  const [ending, unit] = says(path) ?? says(path.split(".")[0] as string) ?? ["", ""];
  const bare = path.endsWith(ending) && path.length > ending.length ? path.slice(0, path.length - ending.length) : path;
  const label = bare.replaceAll(".", " ").replaceAll(/(?<=[a-z0-9])([A-Z])/g, (letter) => ` ${letter.toLowerCase()}`);
  return { label, unit };
}

function uncapital(text: string): string {
  return text.slice(0, 1).toLowerCase() + text.slice(1);
}
