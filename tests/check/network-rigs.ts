/** Rigs on networks at Lantern Quay, as files: a desk that leads, one that is next, a stage box, and two networks. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { check } from "../../sim/check/index.ts";
import { plan } from "../helpers/rig.ts";
import { isAboutSettings } from "./rigs.ts";

export interface Item {
  readonly id: string;
  readonly [field: string]: unknown;
}

export interface Rig {
  readonly leaders: readonly string[];
  readonly networks: readonly Item[];
  readonly devices: readonly Item[];
  readonly links: readonly Item[];
  readonly spares: readonly Item[];
  readonly feeds: readonly Item[];
}

export const cable = (id: string, network: string, a: string, b: string, words: object = {}): Item => ({
  id,
  type: "ethernet",
  network,
  ends: [a, b],
  ...words,
});

export const stream = (id: string, from: string, to: string, words: object = {}): Item => ({
  id,
  type: "aes67",
  from,
  to,
  channels: 8,
  ...words,
});

const transparent = { timing: "transparent", residenceMicroseconds: 5, delayVariationMicroseconds: 12 };

export const bridge = (id: string, words: object = {}): Item => ({ id, kind: "switch", bridge: transparent, ...words });

/** One network: two switches, two cables between them along different paths, a desk on each and the box on the second. */
function network(id: string, port: number, paths: readonly [string, string]): Pick<Rig, "devices" | "links"> {
  return {
    devices: [bridge(`${id}-1`), bridge(`${id}-2`)],
    links: [
      cable(`${id}-foh`, id, `foh.${port}`, `${id}-1.1`),
      cable(`${id}-mon`, id, `mon.${port}`, `${id}-2.1`),
      cable(`${id}-stage`, id, `stage.${port}`, `${id}-2.2`),
      cable(`${id}-trunk`, id, `${id}-1.8`, `${id}-2.8`, { laidAlong: [paths[0]] }),
      cable(`${id}-second`, id, `${id}-1.9`, `${id}-2.9`, { laidAlong: [paths[1]] }),
    ],
  };
}

/** Nothing to find. */
export function soundFile(): Rig {
  const red = network("red", 1, ["quay wall", "pier railing"]);
  const blue = network("blue", 2, ["stage-left wing", "roof"]);
  return {
    leaders: ["foh", "mon"],
    networks: [
      { id: "red", name: "Red network", recovery: "rapid-spanning-tree" },
      { id: "blue", name: "Blue network", recovery: "rapid-spanning-tree" },
    ],
    devices: [
      { id: "foh", name: "FOH desk", kind: "desk", clockSources: ["internal"], ptp: { priority1: 100 } },
      { id: "mon", name: "Monitor desk", kind: "desk", clockSources: ["1", "2", "internal"], ptp: { priority1: 110 } },
      { id: "stage", name: "Stage box", kind: "stage-box", clockSources: ["1", "2"], ptp: { followerOnly: true } },
      ...red.devices,
      ...blue.devices,
    ],
    links: [
      ...red.links,
      ...blue.links,
      stream("main", "stage.1", "foh.1"),
      stream("second", "stage.2", "foh.2"),
      stream("to-mon", "stage.1", "mon.1"),
    ],
    spares: [{ id: "pair", links: ["main", "second"], mode: "duplicate" }],
    feeds: [
      { id: "pa-mix", through: ["stage", "foh"], channels: 8, over: ["main"], heardBy: ["pa"] },
      { id: "ears", through: ["stage", "mon"], channels: 8, over: ["to-mon"], heardBy: ["in-ears"] },
    ],
  };
}

/** The same with fields of some items replaced, by id; null takes an item out. */
export function changed(file: Rig, items: Readonly<Record<string, object | null>>): Rig {
  const list = (all: readonly Item[]): readonly Item[] =>
    all.flatMap((item): Item[] => {
      const change = items[item.id];
      return change === null ? [] : [{ ...item, ...change }];
    });
  return {
    ...file,
    networks: list(file.networks),
    devices: list(file.devices),
    links: list(file.links),
    spares: list(file.spares),
    feeds: list(file.feeds),
  };
}

export function planOf(file: Rig): Plan {
  return plan({
    format: 1,
    title: "Lantern Quay",
    story: "",
    run: { length: "00:10:00", seed: "quay-1" },
    rig: { sampleRateHz: 48000, ...file },
    events: [],
  });
}

/** The rules that find something about the settings, each as often as it does; and one more that is looked for. */
export function rulesOf(file: Rig, wanted?: string): readonly string[] {
  return check(planOf(file))
    .filter((finding) => isAboutSettings(finding) || finding.rule === wanted)
    .map(({ rule }) => rule);
}

export function foundIn(file: Rig, rule: string): readonly Finding[] {
  return check(planOf(file)).filter((one) => one.rule === rule);
}
