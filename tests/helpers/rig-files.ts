/** A rig as the texts that people work on: read, and asked what it names. */
import { readScenario } from "../../shared/scenario.ts";
import { mentionsOf, rigFilesOf } from "../../sim/rig-files.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import type { ThingKind } from "../../viewer/room/rig-edits.ts";

export function readFiles({ main, texts }: ScenarioTexts) {
  const bytes = (text: string) => new TextEncoder().encode(text);
  return readScenario({ file: main, bytes: bytes(texts[main]!) }, (name) => {
    const text = texts[plainName(name)];
    return text === undefined ? { problem: "there is no such file" } : { bytes: bytes(text) };
  });
}

export function idsOf(files: ScenarioTexts, kind: ThingKind): readonly string[] {
  return mentionsOf(rigFilesOf(files)).flatMap((one) => (one.kind === kind && one.isOwn ? [one.id] : []));
}

/** What is named and has no entry. */
export function dangling(files: ScenarioTexts): readonly string[] {
  // A library is no part of the rig: what it has is there all the same.
  const libraries = Object.keys(files.texts).filter((name) => name.includes(".library."));
  const isOfLibrary = (id: string) =>
    libraries.some((name) => Object.hasOwn(JSON.parse(files.texts[name] as string).deviceTypes, id));
  const mentions = mentionsOf(rigFilesOf(files));
  const own = new Set(mentions.flatMap(({ kind, id, isOwn }) => (isOwn ? [`${kind} ${id}`] : [])));
  return mentions.flatMap(({ kind, id }) =>
    kind === "supply" ||
    kind === "path" ||
    kind === "network" ||
    (kind === "type" && isOfLibrary(id)) ||
    own.has(`${kind} ${id}`)
      ? []
      : [`${kind} ${id}`],
  );
}
