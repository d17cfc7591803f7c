/** From files that were picked or dropped to what is worked on. */
import { FILE_BYTES_MAX } from "../../shared/read-json.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { isPullResult, isScenario, namedIn, withShipped } from "./shipped.ts";

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

/** Null where nothing was given. */
export function opened(given: readonly Given[], present: ScenarioTexts | null): Opened | null {
  const scenarios = given.filter(({ text }) => isScenario(text));
  const [first] = given;
  if (first === undefined) return null;
  const texts = Object.fromEntries(given.map(({ name, text }) => [name, text]));
  if (scenarios.length === 0 && present !== null) {
    const isNamed = Object.values(present.texts).some((text) =>
      namedIn(text).some((name) => texts[name] !== undefined),
    );
    if (isNamed)
      return { files: { main: present.main, texts: { ...present.texts, ...texts } }, isAddition: true, notes: [] };
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
