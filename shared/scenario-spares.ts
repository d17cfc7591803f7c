/** Spare groups: their links, which must join the same devices; what each mode asks for, filled in. */
import { defaultOf } from "./defaults.ts";
import { quote } from "./issues.ts";
import type { SparePlan } from "./plan.ts";
import type { Draft, Filled, Place, Report, Unknown } from "./scenario-draft.ts";
import { idsOf, reportDuplicates, sound } from "./scenario-draft.ts";
import type { LinkFound } from "./scenario-links.ts";
import { bringsTo } from "./scenario-links.ts";
import type { SpareFile } from "./scenario-schema.ts";

export function resolveSpares(
  draft: Draft,
  links: ReadonlyMap<string, LinkFound>,
  report: Report,
  unknown: Unknown,
  filled: Filled[],
): SparePlan[] {
  reportDuplicates(draft.spares, "spare group", report);
  const known = idsOf(draft.links);
  const knownSet = new Set(known);
  const groupOf = new Map<string, string>();
  const spares: SparePlan[] = [];
  for (const item of sound(draft.spares)) {
    const file = item.value;
    file.links.forEach((link, index) => {
      const steps = ["links", index];
      if (!knownSet.has(link))
        report(item, steps, { expected: "the id of a link", remedy: unknown(link, known, "link") });
      else if (groupOf.has(link))
        report(item, steps, {
          expected: `a link that is in no other place of a spare group (it is in ${quote(groupOf.get(link))})`,
          remedy: "keep it in one place",
        });
      else groupOf.set(link, item.id);
      if (links.get(link)?.plan.line !== undefined)
        report(item, steps, {
          expected: "a link with two ends, not a line with several receivers",
          remedy: "give the devices leads of their own, or take it out of the group",
        });
    });
    checkSameWay(item, file.links, links, report);
    checkFields(item, file, report);
    spares.push({ id: item.id, links: file.links, ...numbersOf(item.id, file, filled) });
  }
  return spares;
}

type Numbers = Omit<SparePlan, "id" | "links">;

/** What the mode asks for; the rest is what it comes to in that mode. */
function numbersOf(id: string, file: SpareFile, filled: Filled[]): Numbers {
  const or = <T>(given: T | undefined, name: string, value: T, unit: string): T => {
    if (given === undefined) filled.push({ on: "spare", id, name, value, unit });
    return given ?? value;
  };
  switch (file.mode ?? defaultOf("spare", "mode")) {
    case "duplicate": {
      const window = defaultOf("spare", "windowMilliseconds");
      const windowMilliseconds = or(file.windowMilliseconds, "windowMilliseconds", window, "ms");
      const windowSeconds = windowMilliseconds / 1000;
      return { mode: "duplicate", switchSeconds: 0, revertive: false, waitToRestoreSeconds: 0, windowSeconds };
    }
    case "manual": {
      const byHand = defaultOf("spare", "manual.switchSeconds");
      const switchSeconds = or(file.switchSeconds, "manual.switchSeconds", byHand, "s");
      return { mode: "manual", switchSeconds, revertive: false, waitToRestoreSeconds: 0 };
    }
    default: {
      const wait = defaultOf("spare", "waitToRestoreSeconds");
      return {
        mode: "standby",
        switchSeconds: or(file.switchSeconds, "switchSeconds", defaultOf("spare", "switchSeconds"), "s"),
        revertive: or(file.revertive, "revertive", defaultOf("spare", "revertive"), ""),
        waitToRestoreSeconds: or(file.waitToRestoreSeconds, "waitToRestoreSeconds", wait, "s"),
      };
    }
  }
}

/** Numbers that a mode has no use for say that something else was meant. */
function checkFields(item: Place, file: SpareFile, report: Report): void {
  const mode = file.mode ?? defaultOf("spare", "mode");
  const refuse = (name: keyof SpareFile, expected: string, remedy: string) => {
    if (file[name] !== undefined) report(item, [name], { expected: `${expected} (mode is ${quote(mode)})`, remedy });
  };
  const onlyStandby = 'take it away, or make the mode "standby"';
  if (mode !== "duplicate")
    refuse("windowMilliseconds", "nothing: only a receiver that merges has a window", 'make the mode "duplicate"');
  if (mode === "duplicate") {
    refuse("switchSeconds", "nothing: all links carry, so nothing is switched", onlyStandby);
    refuse("revertive", "nothing: all links carry, so nothing goes back", onlyStandby);
  }
  if (mode === "manual" && file.revertive === true)
    refuse("revertive", "false: what a person has moved stays", onlyStandby);
  if (mode !== "standby") refuse("waitToRestoreSeconds", "nothing: it does not go back by itself", onlyStandby);
}

/** Every link of a group must join the devices of the main, and bring something wherever the main does. */
function checkSameWay(
  item: Place,
  group: readonly string[],
  links: ReadonlyMap<string, LinkFound>,
  report: Report,
): void {
  const main = links.get(group[0] as string)?.plan;
  if (!main) return;
  group.slice(1).forEach((id, index) => {
    const spare = links.get(id)?.plan;
    if (!spare || id === main.id) return;
    const steps = ["links", index + 1];
    const joins = `${main.a.device} and ${main.b.device}`;
    const same = new Set([main.a.device, main.b.device, spare.a.device, spare.b.device]).size === 2;
    if (!same) {
      report(item, steps, {
        expected: `a link between ${joins}, as ${quote(main.id)} is`,
        received: `${quote(id)}, between ${spare.a.device} and ${spare.b.device}`,
        remedy: "keep links between the same two devices in one group",
      });
      return;
    }
    for (const [end, device] of [
      ["a", main.a.device],
      ["b", main.b.device],
    ] as const) {
      if (!bringsTo(main, end) || bringsTo(spare, spare.a.device === device ? "a" : "b")) continue;
      report(item, steps, {
        expected: `a link that brings something to ${device}, as ${quote(main.id)} does`,
        received: `${quote(id)}, which brings nothing there`,
        remedy: 'set "return": true on it, or turn it round',
      });
    }
  });
}
