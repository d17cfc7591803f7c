/** A library: device types in a file of their own, read alone, without a scenario that names it. */
import { type Issue, sortIssues } from "./issues.ts";
import { readJson } from "./read-json.ts";
import { typesIn } from "./scenario.ts";
import { joinTypes } from "./scenario-devices.ts";
import { makeReport, makeUnknown } from "./scenario-draft.ts";
import { schemaIssues } from "./scenario-messages.ts";
import { checkOscillator } from "./scenario-oscillator.ts";
import { type DeviceTypeFile, libraryFileSchema } from "./scenario-schema.ts";

export interface Library {
  /** As issues and questions name it. */
  readonly file: string;
  readonly title: string | null;
  readonly text: string;
  /** As written, by name. */
  readonly types: Readonly<Record<string, DeviceTypeFile>>;
  /** With what each is like joined in; null where that is no type of this library. */
  readonly joined: ReadonlyMap<string, DeviceTypeFile | null>;
}

export interface LibraryRead {
  /** Null when anything is wrong. */
  readonly library: Library | null;
  /** By place. */
  readonly issues: readonly Issue[];
}

declare const TextDecoder: { new (): { decode(bytes: Uint8Array): string } };

export function readLibrary(file: string, bytes: Uint8Array): LibraryRead {
  const read = readJson(file, bytes);
  const issues = [...read.issues];
  const { json } = read;
  if (json === null) return { library: null, issues };
  const judged = libraryFileSchema.safeParse(json.value);
  if (!judged.success) issues.push(...schemaIssues(json, [], judged.error.issues));
  const types = typesIn(json, []);
  const report = makeReport(issues);
  for (const type of types) checkOscillator(type, type.value?.oscillator, report);
  // A type may be like one of the rig that names the library.
  const joined = joinTypes({ types, typesAreWhole: false }, report, makeUnknown());
  if (issues.length > 0 || !judged.success) return { library: null, issues: sortIssues(issues, [file]) };
  const { title, deviceTypes } = judged.data;
  return {
    library: { file, title: title ?? null, text: new TextDecoder().decode(bytes), types: deviceTypes, joined },
    issues: [],
  };
}
