/** Small rigs at Lantern Quay to check: two desks, a box, and what hangs from them. */
import type { Finding } from "../../shared/finding.ts";
import type { LinkTypeName, MediumName } from "../../shared/link-types.ts";
import { channelsAt, linkType, NS_PER_METRE } from "../../shared/link-types.ts";
import type { DevicePlan, FeedPlan, LinkPlan, Plan, SparePlan } from "../../shared/plan.ts";
import { check } from "../../sim/check/index.ts";
import type { DeviceWords } from "../oracle/hand-rig.ts";
import { cable, device, plan } from "../oracle/hand-rig.ts";

export { at, device } from "../oracle/hand-rig.ts";

type LinkWords = Partial<Omit<LinkPlan, "medium">> & { readonly medium?: MediumName };

/** A link of a real type; its numbers come from the table. */
export function link(id: string, type: LinkTypeName, from: string, to: string, words: LinkWords = {}): LinkPlan {
  const { twoWay, clockIsAgreed, media, noticeSeconds, comingUpSeconds } = linkType(type);
  const medium = words.medium ?? media[0]!.name;
  const lengthMetres = words.lengthMetres ?? 10;
  return cable(from, to, {
    id,
    type,
    twoWay,
    clockIsAgreed,
    medium,
    lengthMetres,
    delaySeconds: lengthMetres * NS_PER_METRE[medium].value * 1e-9,
    noticeSeconds: noticeSeconds.value,
    comingUpSeconds: comingUpSeconds.value,
    channels: channelsAt(type, 48_000),
    ...words,
  });
}

/** MADI with its return between the same two ports. */
export function madi(id: string, from: string, to: string, words: LinkWords = {}): LinkPlan {
  return link(id, "madi", from, to, { hasReturn: true, ...words });
}

export function rig(
  leaders: readonly string[],
  devices: readonly DevicePlan[],
  links: readonly LinkPlan[],
  rest: Partial<Plan> = {},
): Plan {
  return { ...plan(600, devices, links), leaders, ...rest };
}

/** A feed whose hops all go over the links named, the way that the devices say. */
export function feed(id: string, plan: Plan, through: readonly string[], channels: number): FeedPlan {
  return {
    id,
    name: id,
    through,
    heardBy: ["pa"],
    hops: through.slice(1).map((to, index) => {
      const from = through[index]!;
      const spare = plan.spares.find((one) => one.links.every((other) => joins(plan, other, from, to))) ?? null;
      const links = spare?.links ?? plan.links.filter((one) => joins(plan, one.id, from, to)).map((one) => one.id);
      const over = links.map((other) => {
        const way = plan.links.find((one) => one.id === other)!.a.device === from ? "there" : "back";
        return { link: other, way } as const;
      });
      return { from, to, channels, over, spare: spare?.id ?? null };
    }),
  };
}

function joins(plan: Plan, id: string, from: string, to: string): boolean {
  const { a, b } = plan.links.find((one) => one.id === id)!;
  return (a.device === from && b.device === to) || (b.device === from && a.device === to);
}

export function spare(id: string, links: readonly string[]): SparePlan {
  return { id, links, mode: "standby", switchSeconds: 0.3, revertive: true, waitToRestoreSeconds: 0 };
}

const desk = (id: string, name: string, sources: readonly string[], words: DeviceWords = {}) =>
  device(id, sources, { name, kind: "desk", ...words });

export const foh = (sources: readonly string[], words: DeviceWords = {}) =>
  desk("foh", "FOH desk", sources, { offsetPpm: 4.2, ...words });
export const mon = (sources: readonly string[], words: DeviceWords = {}) =>
  desk("mon", "Monitor desk", sources, { offsetPpm: -3.1, ...words });
export const stage = (sources: readonly string[], words: DeviceWords = {}) =>
  device("stage", sources, { name: "Stage box", kind: "stage-box", offsetPpm: -6.3, ...words });

/**
 * Nothing to find: the FOH desk leads, the monitor desk is next, the stage box hears both along different paths.
 */
export function soundRig(change: { readonly [id: string]: DeviceWords } = {}): Plan {
  const links = [
    madi("foh-stage", "stage.1", "foh.1", { laidAlong: ["quay wall"] }),
    link("mon-stage", "aes50", "stage.2", "mon.2", { laidAlong: ["stage-left wing"] }),
    link("foh-mon", "word-clock", "foh.3", "mon.1", { laidAlong: ["pier railing"] }),
  ];
  const devices = [foh(["internal"]), mon(["1", "internal"]), stage(["1", "2"])].map((one) => {
    const { offsetPpm, oscillator, loop, ...words } = change[one.id] ?? {};
    const off = offsetPpm === undefined ? {} : { offsetPpm };
    return {
      ...one,
      ...words,
      oscillator: { ...one.oscillator, ...off, ...oscillator },
      loop: { ...one.loop, ...loop },
    };
  });
  const whole = rig(["foh", "mon"], devices, links);
  return { ...whole, feeds: [feed("pa-mix", whole, ["stage", "foh"], 32)] };
}

/** The findings of one rule. */
export function found(plan: Plan, rule: string): readonly Finding[] {
  return check(plan).filter((one) => one.rule === rule);
}

/**
 * What nobody has prepared yet, of which a small rig has much: these have tests of their own, and are left out where a test
 * is about the settings.
 */
const PREPARATION: ReadonlySet<string> = new Set([
  "far-from-leader",
  "feed-through-one-switch",
  "feed-without-spare",
  "leader-retakes",
  "mute-only-at-mix",
  "returns-at-full-level",
  "word-clock-chain",
  "word-clock-lead-long",
]);

export function isAboutSettings({ rule }: Finding): boolean {
  return !PREPARATION.has(rule);
}

/** The rules that find something about the settings. */
export function rules(plan: Plan): readonly string[] {
  return check(plan)
    .filter(isAboutSettings)
    .map((one) => one.rule);
}
