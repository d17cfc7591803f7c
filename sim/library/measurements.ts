/** A table of what was measured, as measurements of a library's types: all that is wrong at once, each at its cell. */
import { type Issue, quote } from "../../shared/issues.ts";
import { nearest } from "../../shared/nearest.ts";
import type { Library } from "../../shared/scenario-library.ts";
import { readLibrary } from "../../shared/scenario-library.ts";
import { ORIGIN_NAMES } from "../../shared/scenario-schema-devices.ts";
import { DATE_EXPECTED, DATE_PATTERN } from "../../shared/units.ts";
import { type Column, DEVICE_FIELDS, MEASUREMENTS } from "../tables/columns.ts";
import { entryOf, fieldOf, placeOf, type ReadAs, refuseInto, textOf } from "../tables/entry.ts";
import { knownSheet, type Sheet } from "../tables/sheet.ts";
import { bare, readCell } from "../tables/values.ts";
import type { Measurement } from "./grow.ts";

const KINDS = "type, number, value and date";
const FROM = "pull test";

/** A device of a rig and the type that it is like. */
export interface DeviceOfType {
  readonly id: string;
  readonly name: string | null;
  readonly like: string | null;
}

/** @param devices whom the table may name in place of their types */
export function measurementsFrom(
  sheet: Sheet,
  library: Pick<Library, "types">,
  devices: readonly DeviceOfType[] = [],
): {
  readonly measurements: readonly Measurement[];
  /** Cells that may mean two things, and how each was taken. */
  readonly readAs: readonly ReadAs[];
  readonly issues: readonly Issue[];
} {
  const known = knownSheet(sheet, [MEASUREMENTS], KINDS);
  if (!("shape" in known)) return { measurements: [], readAs: [], issues: [known] };
  const issues: Issue[] = [];
  const refuse = refuseInto(issues);
  const readAs: ReadAs[] = [];
  const names = Object.keys(library.types);
  const measurements = known.body.flatMap((row): Measurement[] => {
    const before = issues.length;
    const entry = entryOf(known, row, refuse);
    const at = (key: string) => placeOf(entry, [key]);
    const said = (key: string) => (textOf(entry, key) === "" ? "nothing" : quote(textOf(entry, key)));
    const called = textOf(entry, "type");
    const device = typeNamed(called, names) === null ? deviceNamed(called, devices) : undefined;
    const type = typeNamed(device?.like ?? called, names);
    if (type === null && device !== undefined) {
      const is = device.like === null ? "which is like no type" : `which is like ${quote(device.like)}`;
      refuse(
        at("type"),
        "a device that is like a type of the library",
        `${quote(called)}, ${is}`,
        "name the type, or let the device be like it",
      );
    } else if (type === null) {
      const meant = nearest(called, [...names, ...devices.flatMap(({ id, name }) => [id, name ?? id])]);
      const remedy =
        meant === null
          ? "add the type to the library first, { } if nothing is known of it"
          : `did you mean ${quote(meant)}?`;
      const expected = devices.length === 0 ? "a device type of the library" : "a device of the plan, or a device type";
      refuse(at("type"), expected, said("type"), remedy);
    }
    const column = columnFor(textOf(entry, "number"));
    if (column === undefined) {
      const meant = nearest(textOf(entry, "number"), ORIGIN_NAMES);
      refuse(
        at("number"),
        "the name of a number of a device, as a file or a table has it",
        said("number"),
        meant === null ? "write it like bootSeconds or boot time" : `did you mean ${meant}?`,
      );
    }
    const measured = textOf(entry, "measured");
    if (!DATE_PATTERN.test(measured))
      refuse(at("measured"), DATE_EXPECTED, said("measured"), "write year, month and day, like 2026-05-02");
    const text = textOf(entry, "value");
    const read = column === undefined ? { value: text } : readCell(column, text, headingUnit(known.headings));
    if (text === "") refuse(at("value"), "what was measured", "nothing", "write it, or take the row away");
    else if ("expected" in read) refuse(at("value"), read.expected, quote(text), read.remedy);
    else if ("understood" in read && read.understood !== undefined)
      readAs.push({ place: at("value"), text, as: read.understood });
    if (issues.length > before || type === null || column === undefined) return [];
    const times = fieldOf(entry, "times");
    const origin = {
      ...{ value: read.value, from: textOf(entry, "from") || FROM, measured },
      ...(times === undefined ? {} : { times: times as number }),
    };
    // What the file itself would refuse: a word for a number, a number out of its range.
    for (const issue of inAFile(type, column.key, origin)) {
      const field = String(issue.path.at(-1) === "value" || issue.path.length < 6 ? "value" : issue.path[5]);
      refuse(at(field === "times" || field === "from" ? field : "value"), issue.expected, issue.received, issue.remedy);
    }
    return issues.length > before ? [] : [{ type, name: column.key, said: origin }];
  });
  return { measurements, readAs, issues };
}

function headingUnit(headings: readonly { readonly column: Column | null; readonly unit: string }[]): string {
  return headings.find(({ column }) => column?.key === "value")?.unit ?? "";
}

function typeNamed(text: string, names: readonly string[]): string | null {
  return names.find((name) => name === text) ?? names.find((name) => bare(name) === bare(text) && text !== "") ?? null;
}

function deviceNamed(text: string, devices: readonly DeviceOfType[]): DeviceOfType | undefined {
  return (
    devices.find(({ id }) => id === text) ??
    devices.find(({ id, name }) => [id, name ?? id].map(bare).includes(bare(text)))
  );
}

function columnFor(text: string): Column | undefined {
  const words = bare(text);
  if (words === "") return undefined;
  return DEVICE_FIELDS.filter(({ key }) => ORIGIN_NAMES.includes(key)).find(({ key, headings }) =>
    [key, ...headings].some((heading) => bare(heading) === words),
  );
}

declare const TextEncoder: { new (): { encode(text: string): Uint8Array } };

function inAFile(type: string, name: string, origin: object): readonly Issue[] {
  const file = { deviceTypes: { [type]: { origins: { [name]: [origin] } } } };
  return readLibrary("", new TextEncoder().encode(JSON.stringify(file))).issues;
}
