/** What differs between two libraries, type by type, in words. */
import { originWords, sameValue, valueWords } from "../../shared/scenario-origins.ts";
import { leavesOf, originsIn, sameOrigin, type TypesFile } from "./leaves.ts";

export interface LibraryChange {
  readonly type: string;
  readonly is: "new" | "gone" | "changed";
  /** "bootSeconds 34 s, was 30 s", one for each number or origin; empty where the whole type is new or gone. */
  readonly words: readonly string[];
}

/** By type. */
export function libraryChanges(before: TypesFile, after: TypesFile): readonly LibraryChange[] {
  return [...new Set([...Object.keys(before), ...Object.keys(after)])].sort().flatMap((type): LibraryChange[] => {
    const [was, is] = [before[type], after[type]];
    if (was === undefined) return [{ type, is: "new", words: [] }];
    if (is === undefined) return [{ type, is: "gone", words: [] }];
    const [old, now] = [leavesOf(was), leavesOf(is)];
    const numbers = [...new Set([...old.keys(), ...now.keys()])].sort().flatMap((name) => {
      const [one, other] = [old.get(name), now.get(name)];
      if (sameValue(one, other)) return [];
      return [`${name} ${words(name, other)}, was ${words(name, one)}`];
    });
    const [saidBefore, saidNow] = [originsIn(was), originsIn(is)];
    const origins = [...new Set([...saidBefore.keys(), ...saidNow.keys()])].sort().flatMap((name) => {
      const [one, other] = [saidBefore.get(name) ?? [], saidNow.get(name) ?? []];
      const more = other.filter((each) => !one.some((known) => sameOrigin(known, each)));
      const fewer = one.filter((each) => !other.some((known) => sameOrigin(known, each)));
      return [
        ...more.map((each) => `${name}: new, ${words(name, each.value)} ${originWords(name, each.value, [each])}`),
        ...fewer.map((each) => `${name}: gone, ${words(name, each.value)} ${originWords(name, each.value, [each])}`),
      ];
    });
    const all = [...numbers, ...origins];
    return all.length === 0 ? [] : [{ type, is: "changed", words: all }];
  });
}

function words(name: string, value: unknown): string {
  return value === undefined ? "left open" : valueWords(name, value);
}
