/** What people do in the tables, from the texts of a scenario to its texts. Each is one step back. */
import { type Fields, itemsOf } from "../../shared/mentions.ts";
import { rigFilesOf } from "../../sim/rig-files.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { idFrom } from "../../sim/tables/names.ts";
import { counted } from "../../sim/tell/words.ts";
import { goingWords } from "../room/rig-actions.ts";
import { freeId, renamed } from "../room/rig-edits.ts";
import { removed } from "../room/rig-removal.ts";
import { itemsIn, OF_TABLE, type RigTable } from "./bench.ts";
import { isMadeUp, settled, type Typed, withCell, withRow } from "./change.ts";
import { type Notes, rewritten } from "./rewrite.ts";
import { nameOf } from "./shown.ts";

/** @throws EditError where the text cannot be changed so */
export function withRig(files: ScenarioTexts, change: (rig: Fields) => Fields, notes?: Notes): ScenarioTexts {
  const { rig, rigFile, rigPath } = rigFilesOf(files);
  const text = rewritten(files.texts[rigFile] ?? "", rigPath, rig, settled(change(rig)), notes);
  return { ...files, texts: { ...files.texts, [rigFile]: text } };
}

export function setCell(
  files: ScenarioTexts,
  table: RigTable,
  index: number,
  key: string,
  typed: Typed,
): ScenarioTexts {
  const item = itemsIn(rigFilesOf(files).rig, table)[index] ?? {};
  const text = typed.text.trim();
  if (key === "id") return withId(files, table, item, text);
  const made = withRig(files, (rig) => withCell(rig, table, index, key, typed));
  // A row that was begun elsewhere is called by its name as soon as it has one.
  if (key !== "name" || text === "" || !isMadeUp(table, item.id)) return made;
  return renamed(made, OF_TABLE[table].kind, String(item.id), freeId(made, OF_TABLE[table].kind, text));
}

function withId(files: ScenarioTexts, table: RigTable, item: Fields, text: string): ScenarioTexts {
  if (typeof item.id === "string") return renamed(files, OF_TABLE[table].kind, item.id, text);
  const index = itemsIn(rigFilesOf(files).rig, table).indexOf(item);
  return withRig(files, (rig) => withCell(rig, table, index, "id", { text: idFrom(text, text) }));
}

/** A row of one cell: where somebody begins to type. */
export function addRow(files: ScenarioTexts, table: RigTable, key: string, typed: Typed): ScenarioTexts {
  return withRig(files, (rig) => {
    const made = withRow(rig, table, new Map([[key, typed]]));
    return key.startsWith("~") ? withCell(made, table, itemsIn(made, table).length - 1, key, typed) : made;
  });
}

export interface RowRemoved {
  readonly files: ScenarioTexts;
  /** What went with it, in words; empty: nothing. */
  readonly says: string;
}

/** With all that names a device or a cable; of feeds only expectations do. */
export function removeRow(files: ScenarioTexts, table: RigTable, index: number): RowRemoved {
  const { rig } = rigFilesOf(files);
  const item = itemsIn(rig, table)[index];
  const { kind, list } = OF_TABLE[table];
  if ((kind === "device" || kind === "link") && typeof item?.id === "string") {
    const { files: left, goes } = removed(files, kind, item.id);
    return { files: left, says: goingWords(goes, (what, id) => (what === "device" ? nameOf(rig, id) : id)) };
  }
  const without = withRig(files, (before) => ({
    ...before,
    [list]: (before[list] as readonly unknown[]).filter((_, at) => at !== index),
  }));
  const { scenario } = rigFilesOf(without);
  const expect = itemsOf(scenario.expect).map(([expected]) => expected);
  const left = kind === "feed" ? expect.filter(({ feed }) => feed !== item?.id) : expect;
  const text = rewritten(
    without.texts[without.main] ?? "",
    ["expect"],
    scenario.expect && expect,
    scenario.expect && left,
  );
  const count = expect.length - left.length;
  return {
    files: { ...without, texts: { ...without.texts, [without.main]: text } },
    says: count === 0 ? "" : `With it ${count === 1 ? "goes" : "go"} ${counted(count, "expectation", "expectations")}.`,
  };
}
