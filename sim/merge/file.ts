/** A draft as the text of a scenario file, and what reading that comes to. */
import type { Issue } from "../../shared/issues.ts";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { Items, printed, Spread } from "../tables/print.ts";
import type { Draft } from "./union.ts";

declare const TextEncoder: { new (): { encode(text: string): Uint8Array } };

export interface FileMade {
  readonly text: string;
  /** Null where both plans together make no file that can be read. */
  readonly plan: Plan | null;
  readonly issues: readonly Issue[];
}

/** @param moreEvents as a file writes them, beside those of the draft and not in its text */
export function fileOf(draft: Draft, moreEvents: readonly unknown[] = []): FileMade {
  const text = textOf(draft);
  const source = { file: `${draft.title}.json`, bytes: new TextEncoder().encode(text), moreEvents };
  const { plan, issues } = readScenario(source, () => ({ problem: "everything stands in one file" }));
  return { text, plan, issues };
}

function textOf({ title, story, run, rig, events, expect, accepted }: Draft): string {
  const list = (items: readonly object[]) => new Items(items.map((fields) => ({ fields, notes: [] })));
  const lists = (fields: Readonly<Record<string, readonly object[]>>): [string, unknown][] =>
    Object.entries(fields).flatMap(([key, items]) => (items.length === 0 ? [] : [[key, list(items)]]));
  const { sampleRateHz, leaders, deviceTypes, devices, networks, links, spares, feeds, supplies } = rig;
  const types = Object.entries(deviceTypes);
  return `${printed(
    new Spread([
      ["format", 1],
      ["title", title],
      ...(story === "" ? [] : [["story", story] as [string, unknown]]),
      ["run", run],
      [
        "rig",
        new Spread([
          ["sampleRateHz", sampleRateHz],
          ["leaders", leaders],
          ...(types.length === 0 ? [] : [["deviceTypes", new Spread(types)] as [string, unknown]]),
          ["devices", list(devices)],
          ...lists({ networks, links, spares, supplies, feeds }),
        ]),
      ],
      ...lists({ events, expect, accepted }),
    ]),
  )}\n`;
}
