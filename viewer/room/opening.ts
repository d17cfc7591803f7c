/** From files that were picked or dropped to what is worked on. */
import { FILE_BYTES_MAX } from "../../shared/read-json.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { isLibrary, isPullResult, isRig, isScenario, namedIn, withShipped } from "./shipped.ts";

export interface Given {
  readonly name: string;
  readonly text: string;
}

export interface Opened {
  readonly files: ScenarioTexts;
  /** The files belong to what is open already. */
  readonly isAddition: boolean;
  /** What was done that nobody asked for. */
  readonly notes: readonly string[];
}

/** Reads what the browser hands over; what is no text of a fitting size is named instead. */
export async function readGiven(files: Iterable<File>): Promise<{ given: Given[]; problems: string[] }> {
  const given: Given[] = [];
  const problems: string[] = [];
  for (const file of files) {
    if (file.size > FILE_BYTES_MAX)
      problems.push(
        `${file.name} has ${(file.size / 1e6).toFixed(1)} MB, and at most ${FILE_BYTES_MAX / 1e6} MB are read.`,
      );
    else {
      try {
        const text = new TextDecoder("utf-8", { fatal: true }).decode(await file.arrayBuffer());
        const other = otherThan(file.name, text);
        if (other === null) given.push({ name: file.name, text });
        else problems.push(other);
      } catch {
        problems.push(`${file.name} is no text in UTF-8. Open a scenario, and with it the rig file that it names.`);
      }
    }
  }
  return { given, problems };
}

/** What a text is that is no scenario, and where it belongs, so that it takes nobody's place; null: it may be one. */
export function otherThan(name: string, text: string): string | null {
  if (isPullResult(text)) return `${name} is the result of a pull test: open it, or drop it, at Pull test on site.`;
  if (text.trim() === "" || text.includes("{")) return null;
  return `${name} is no scenario, which stands in braces. A list from a spreadsheet goes into The rig as tables: Paste a list.`;
}

/** Why libraries that were given with nothing else have no place in what is open; null: they have, or there is more. */
export function libraryAlone(given: readonly Given[], present: ScenarioTexts | null): string | null {
  const [first] = given;
  if (first === undefined || !given.every(({ text }) => isLibrary(text)) || isNamed(given, present)) return null;
  return `${first.name} is a library of device types, and no rig that is open names it: write "library": "./${first.name}" into the rig, or open it together with a rig that has this line.`;
}

function isNamed(given: readonly Given[], present: ScenarioTexts | null): boolean {
  const named = Object.values(present?.texts ?? {}).flatMap(namedIn);
  return given.some(({ name }) => named.includes(name));
}

/** An hour in which nothing happens, around a rig that came without a show. */
function showAround(rig: Given): Given {
  const name = `${rig.name.replace(/(\.rig)?\.jsonc?$/u, "")}.show.json`;
  const show = {
    format: 1,
    title: `A show with ${rig.name}`,
    run: { length: "01:00:00" },
    rig: `./${rig.name}`,
    events: [],
  };
  return { name, text: `${JSON.stringify(show, null, 2)}\n` };
}

/** Null where nothing was given. */
export function opened(given: readonly Given[], present: ScenarioTexts | null): Opened | null {
  const scenarios = given.filter(({ text }) => isScenario(text));
  const [first] = given;
  if (first === undefined) return null;
  const texts = Object.fromEntries(given.map(({ name, text }) => [name, text]));
  if (scenarios.length === 0 && present !== null && isNamed(given, present))
    return { files: { main: present.main, texts: { ...present.texts, ...texts } }, isAddition: true, notes: [] };
  const rig = scenarios.length === 0 ? given.find(({ text }) => isRig(text)) : undefined;
  if (rig !== undefined) {
    const show = showAround(rig);
    const { files } = withShipped({ main: show.name, texts: { ...texts, [show.name]: show.text } });
    const note = `${rig.name} is a rig without a show: ${show.name} is an hour with it in which nothing happens yet.`;
    return { files, isAddition: false, notes: [note] };
  }
  const main = (scenarios[0] ?? first).name;
  const { files, taken } = withShipped({ main, texts });
  const others = scenarios.slice(1).map(({ name }) => name);
  return {
    files,
    isAddition: false,
    notes: [
      ...(others.length === 0 ? [] : [`Opened ${main}; ${others.join(", ")} can be opened next.`]),
      ...(taken.length === 0
        ? []
        : [`${main} names ${taken.join(", ")}, which was not given: the shipped one is used.`]),
    ],
  };
}
