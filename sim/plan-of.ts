/** The plan of texts that are at hand: one scenario and what it names. */
import { type FileLoaded, readScenario, type ScenarioRead } from "../shared/scenario.ts";
import { plainName, type ScenarioTexts } from "./run-data.ts";

declare const TextEncoder: { new (): { encode(text: string): Uint8Array } };

/** @param missing why a file that is named is not there @param seed in place of the file's own */
export function readTexts(
  { main, texts }: ScenarioTexts,
  missing = "it is not among the files that were opened; open it together with the scenario",
  seed: string | null = null,
): ScenarioRead {
  const bytes = (text: string) => new TextEncoder().encode(text);
  return readScenario({ file: main, bytes: bytes(texts[main] ?? ""), seed }, (name): FileLoaded => {
    const text = texts[plainName(name)];
    return text === undefined ? { problem: missing } : { bytes: bytes(text) };
  });
}
