/** The pages that are measured: two shows that the command rehearses, a large run by hand, and pages of next to nothing. */
import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { filledIn } from "../../cli/print/page.ts";
import type { Fact } from "../../shared/record.ts";
import type { DeviceStretch, FeedStretch, LinkStretch } from "../../shared/summary.ts";
import type { Run } from "../../viewer/run.ts";
import { buildRun, device, feed, link, RUN_SECONDS, train } from "../browser/fixture.ts";
import { SHOW_FILE } from "./show.ts";

/** As `npm run build` leaves it. */
export const TEMPLATE = "cli/dist/page.html";

export interface PageFiles {
  /** 40 devices, 120 links, three hours, 40 faults, with the run in it, as `rehearse --html` writes it. */
  readonly show: string;
  /** The same of `leader-reboot`. */
  readonly small: string;
  /** A hundred devices whose lanes change a hundred thousand times, and a hundred thousand slips. */
  readonly large: string;
  /** The show's own sentences in one paragraph, and nothing else. */
  readonly text: string;
  /** Nothing at all. */
  readonly empty: string;
  readonly largeFacts: LargeFacts;
}

export interface LargeFacts {
  readonly transitions: number;
  readonly slips: number;
}

export function writePages(folder: string, command: string): PageFiles {
  const rehearsed = (name: string, scenario: string): string => {
    const file = join(folder, `${name}.html`);
    const { status, stderr } = spawnSync(process.execPath, [command, "rehearse", scenario, "--html", file]);
    // 1: an expectation is not met, which is as good a page.
    if (status !== 0 && status !== 1) throw new Error(`rehearse ${scenario} ended with status ${status}: ${stderr}`);
    return pathToFileURL(file).href;
  };
  const written = (name: string, html: string): string => {
    const file = join(folder, `${name}.html`);
    writeFileSync(file, html);
    return pathToFileURL(file).href;
  };
  const large = largeRun();
  const { title, story } = JSON.parse(readFileSync(SHOW_FILE, "utf8")) as { title: string; story: string };
  const head = '<!doctype html><html lang="en"><meta charset="utf-8">';
  return {
    show: rehearsed("show", SHOW_FILE),
    small: rehearsed("small", "scenarios/leader-reboot.json"),
    large: written("large", filledIn(readFileSync(TEMPLATE, "utf8"), large)),
    text: written("text", `${head}<title>${title}</title><p class="text">${story}</p></html>`),
    empty: written("empty", `${head}<title>Empty</title></html>`),
    largeFacts: factsOf(large),
  };
}

const DEVICES = 100;
/** Changes of each device and of each way of each link: 100 and 198 of them. */
const CHANGES = 340;
const FEEDS = 4;
const SLIPS_A_FEED = 25_000;

/** By hand, since to play it is not what is measured. Every lane changes at its own pace, the whole show through. */
function largeRun(): Run {
  const ids = Array.from({ length: DEVICES }, (_, index) => `d${String(index).padStart(3, "0")}`);
  const devices = ids.map((id, index) => device(id, `Device ${index + 1}`, index === 0 ? ["internal"] : ["1"]));
  const links = ids.slice(1).map((id, index) => link(`l${index}`, [ids[Math.floor(index / 8)]!, 100 + index], [id, 1]));
  const states: Record<string, DeviceStretch[]> = {};
  const linkStates: Record<string, LinkStretch[]> = {};
  for (const [index, id] of ids.entries())
    states[id] = spans(index).map((span, place) => ({
      ...span,
      state: (["locked", "holdover", "acquiring"] as const)[place % 3]!,
      source: place % 3 === 1 ? null : "1",
    }));
  for (const [index, { id }] of links.entries())
    for (const way of ["there", "back"])
      linkStates[`${id} ${way}`] = spans(index).map((span, place) => ({
        ...span,
        state: (["up", "down", "coming-up"] as const)[place % 3]!,
        clock: "each-way",
      }));
  const everySeconds = (RUN_SECONDS - 2) / SLIPS_A_FEED;
  const toSeconds = 1 + everySeconds * (SLIPS_A_FEED - 1);
  const feedStates: Record<string, FeedStretch[]> = {};
  const facts: { atSeconds: number; subject: string; fact: Fact }[] = [];
  const quiet = { state: "clean", silence: null, because: null, slips: 0 } as const;
  const feeds = links.slice(0, FEEDS).map(({ id, a, b }, index) => {
    feedStates[`f${index}`] = [
      { ...quiet, fromSeconds: 0, toSeconds: 1 },
      { ...quiet, state: "slipping", slips: SLIPS_A_FEED, fromSeconds: 1, toSeconds },
      { ...quiet, fromSeconds: toSeconds, toSeconds: RUN_SECONDS },
    ];
    facts.push({
      atSeconds: 1,
      subject: `port ${b.device}.1`,
      fact: train(id, "there", 1, everySeconds, SLIPS_A_FEED),
    });
    return feed(`f${index}`, `Feed ${index + 1}`, [a.device, b.device], [{ link: id, way: "there" }], ["record"]);
  });
  const calm = buildRun({
    title: "A hundred devices, a hundred thousand changes",
    leaders: [ids[0]!],
    ...{ devices, links, feeds, feedStates, facts },
  });
  const { summary } = calm;
  // Put in once it is told: the words, which are not what is measured, would take minutes over so many changes.
  return {
    ...calm,
    summary: {
      ...summary,
      devices: summary.devices.map((one) => ({ ...one, states: states[one.id]! })),
      links: summary.links.map((one) => ({ ...one, states: linkStates[`${one.id} ${one.way}`]! })),
    },
  };
}

/** From beginning to end without a gap; two short ones after each long one, as faults have it. */
function spans(lane: number): { fromSeconds: number; toSeconds: number }[] {
  const edges = [0];
  for (let place = 1; place <= CHANGES; place++) {
    const late = place % 3 === 1 ? 0 : 0.8;
    edges.push(((place - late + (lane % 10) / 50) * RUN_SECONDS) / (CHANGES + 1));
  }
  return edges.map((fromSeconds, place) => ({ fromSeconds, toSeconds: edges[place + 1] ?? RUN_SECONDS }));
}

function factsOf({ summary }: Run): LargeFacts {
  const all = [...summary.devices, ...summary.links, ...summary.feeds];
  return {
    transitions: all.reduce((sum, { states }) => sum + states.length - 1, 0),
    slips: summary.feeds.reduce((sum, { slips }) => sum + slips, 0),
  };
}
