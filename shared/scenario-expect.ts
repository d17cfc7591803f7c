/** Expectations and the plan of who leads: what they name must be there. */
import { quote } from "./issues.ts";
import type { Bounds, ExpectPlan } from "./plan.ts";
import type { Draft, Item, Report, Unknown } from "./scenario-draft.ts";
import { idsOf } from "./scenario-draft.ts";
import type { ExpectFile } from "./scenario-schema.ts";
import type { Ns } from "./time.ts";
import { ZERO } from "./time.ts";
import { formatShowTime, parseShowTime } from "./units.ts";

export function resolveLeaders(draft: Draft, report: Report, unknown: Unknown): string[] {
  const devices = idsOf(draft.devices);
  const known = new Set(devices);
  const seen = new Set<string>();
  draft.leaders.forEach((leader, index) => {
    if (draft.rig === null) return;
    if (!known.has(leader)) {
      report(draft.rig, ["leaders", index], {
        expected: "the id of a device",
        remedy: unknown(leader, devices, "device"),
      });
    } else if (seen.has(leader)) {
      report(draft.rig, ["leaders", index], {
        expected: "each leader once",
        received: `${quote(leader)} again`,
        remedy: "keep the first",
      });
    }
    seen.add(leader);
  });
  return [...seen];
}

/** Ids of one kind of thing, in the order of the file and to look up. */
interface Known {
  readonly kind: "feed" | "device" | "link";
  readonly ids: readonly string[];
  readonly has: ReadonlySet<string>;
}

export function resolveExpects(draft: Draft, report: Report, unknown: Unknown): ExpectPlan[] {
  const known = (kind: Known["kind"], items: readonly Item<unknown>[]): Known => {
    const ids = idsOf(items);
    return { kind, ids, has: new Set(ids) };
  };
  const feeds = known("feed", draft.feeds);
  const devices = known("device", draft.devices);
  const links = known("link", draft.links);
  return draft.expects.flatMap((item) => {
    if (item.value === null) return [];
    const expect = item.value;
    if ("feed" in expect) return [expectedOfFeed(feeds, item, expect, report, unknown)];
    const [fromNs, toNs] = windowOf(draft, item, expect, report);
    if ("device" in expect) {
      checkThing(item, expect.device, devices, report, unknown);
      return [{ kind: "device" as const, device: expect.device, is: expect.is, fromNs, toNs }];
    }
    checkThing(item, expect.link, links, report, unknown);
    return [{ kind: "link" as const, link: expect.link, clock: expect.clock, fromNs, toNs }];
  });
}

function checkThing(
  item: Item<ExpectFile>,
  id: string,
  { kind, ids, has }: Known,
  report: Report,
  unknown: Unknown,
): void {
  if (!has.has(id)) report(item, [kind], { expected: `the id of a ${kind}`, remedy: unknown(id, ids, kind) });
}

function expectedOfFeed(
  feeds: Known,
  item: Item<ExpectFile>,
  expect: Extract<ExpectFile, { feed: string }>,
  report: Report,
  unknown: Unknown,
): ExpectPlan {
  checkThing(item, expect.feed, feeds, report, unknown);
  const bounds = (name: "slips" | "silentSeconds" | "dropouts"): Bounds => {
    const { min = null, max = null } = expect[name] ?? {};
    if (min !== null && max !== null && min > max) {
      report(item, [name], {
        expected: "a minimum that is not above the maximum",
        received: `from ${min} to ${max}`,
        remedy: "change one of the two",
      });
    }
    return { min, max };
  };
  if (expect.slips === undefined && expect.silentSeconds === undefined && expect.dropouts === undefined) {
    report(item, [], {
      expected: "slips, silentSeconds or dropouts",
      received: "none of them",
      remedy: "say what is expected of the feed",
    });
  }
  return {
    kind: "feed",
    feed: expect.feed,
    slips: bounds("slips"),
    silentSeconds: bounds("silentSeconds"),
    dropouts: bounds("dropouts"),
  };
}

/** The whole show where nothing is said. */
function windowOf(
  draft: Draft,
  item: Item<ExpectFile>,
  expect: { from?: string | undefined; to?: string | undefined },
  report: Report,
): [Ns, Ns] {
  const length = draft.lengthNs ?? ZERO;
  const fromNs = expect.from === undefined ? ZERO : (parseShowTime(expect.from) ?? ZERO);
  const toNs = expect.to === undefined ? length : (parseShowTime(expect.to) ?? length);
  if (draft.lengthNs === null) return [fromNs, toNs];
  for (const [key, at] of [
    ["from", fromNs],
    ["to", toNs],
  ] as const) {
    if (at <= length) continue;
    report(item, [key], {
      expected: `an instant within the run, up to ${formatShowTime(length)}`,
      remedy: "make run.length longer, or this earlier",
    });
  }
  if (fromNs >= toNs && toNs <= length) {
    report(item, [expect.from === undefined ? "to" : "from"], {
      expected: `a stretch that ends after it begins (to ${formatShowTime(toNs)})`,
      remedy: "put from before to",
    });
  }
  return [fromNs, toNs];
}
