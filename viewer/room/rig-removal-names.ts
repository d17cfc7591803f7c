/** What is expected and accepted of a rig, without what is gone from it. */
import type { Path } from "../../shared/issues.ts";
import { type Fields, itemsOf } from "../../shared/mentions.ts";
import { type Change, type RigFiles, textsIn } from "../../sim/rig-files.ts";

export interface NamesTaken {
  readonly changes: readonly Change[];
  /** How many of each went. */
  readonly expectations: number;
  readonly accepted: number;
}

/** What was accepted of several things stays accepted of those that are left. */
export function withoutGone(
  { files, scenario, rig, rigFile, rigPath }: RigFiles,
  isGone: (kind: "device" | "link" | "feed", id: unknown) => boolean,
): NamesTaken {
  const changes: Change[] = [];
  const take = (file: string, path: Path) => {
    changes.push({ file, path, value: undefined });
  };
  const kinds = ["device", "link", "feed"] as const;
  const missed = itemsOf(scenario.expect).filter(([expected]) => kinds.some((kind) => isGone(kind, expected[kind])));
  for (const [, index] of missed) take(files.main, ["expect", index]);
  let accepted = 0;
  const look = (file: string, path: Path, entry: Fields) => {
    const lists = (["devices", "links"] as const).map((name) => {
      const all = textsIn(entry[name]);
      const gone = all.flatMap((id, index) => (isGone(name === "devices" ? "device" : "link", id) ? [index] : []));
      return { name, gone, isAll: gone.length > 0 && gone.length === all.length };
    });
    if (lists.some(({ isAll }) => isAll)) {
      accepted++;
      take(file, path);
    } else for (const { name, gone } of lists) for (const index of gone) take(file, [...path, name, index]);
  };
  for (const [entry, index] of itemsOf(rig.accepted)) look(rigFile, [...rigPath, "accepted", index], entry);
  for (const [entry, index] of itemsOf(scenario.accepted)) look(files.main, ["accepted", index], entry);
  return { changes, expectations: missed.length, accepted };
}
