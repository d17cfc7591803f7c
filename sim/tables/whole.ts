/** A scenario and the files that it names, as one value: tables know of no second file. */
import { readJson } from "../../shared/read-json.ts";
import type { ScenarioTexts } from "../run-data.ts";

type Fields = Readonly<Record<string, unknown>>;

declare const TextEncoder: { new (): { encode(text: string): Uint8Array } };

/** One object of all that the scenario's files say. */
export function wholeScenario(texts: ScenarioTexts): {
  readonly scenario: Fields;
  readonly types: Fields;
  readonly isInSeveralFiles: boolean;
  readonly hasComments: boolean;
} {
  const fieldsOf = (name: string): Fields =>
    (readJson(name, new TextEncoder().encode(texts.texts[name] ?? "")).json?.value ?? {}) as Fields;
  const main = fieldsOf(texts.main);
  const others = Object.keys(texts.texts).filter((name) => name !== texts.main);
  const values = others.map(fieldsOf);
  const rig =
    typeof main.rig === "string" ? (values.find(({ devices }) => devices !== undefined) ?? {}) : (main.rig as Fields);
  const types = Object.assign({}, ...[main, rig, ...values].map(({ deviceTypes }) => deviceTypes ?? {}));
  return {
    scenario: { ...main, rig },
    types,
    isInSeveralFiles: others.length > 0,
    hasComments: !Object.values(texts.texts).every(isPlainJson),
  };
}

/** Without comments, which JSON itself has none of. */
function isPlainJson(text: string): boolean {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
}
