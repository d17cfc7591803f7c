/** The pull test on paper: what to pull, what it shows, what you should see and hear, by when, and room for what was. */
import type { Plan } from "../../shared/plan.ts";
import { deviceOf, feedOf } from "../by-id.ts";
import { feedsInOrder } from "../tell/pieces.ts";
import {
  cableIn,
  cables,
  capital,
  counted,
  deviceHead,
  duration,
  listener,
  source,
  theCableIn,
  theDevice,
  theNetwork,
} from "../tell/words.ts";
import type { FeedHarm } from "../trials/harm.ts";
import type { FeedToll } from "../trials/rank.ts";
import { tollWords } from "../trials/words.ts";
import type { Duty } from "./duties.ts";
import type { Pull, PullTest } from "./pulls.ts";
import { row, type Sheet, type SheetColumn } from "./sheet.ts";
import { type PulledKind, TURNS } from "./turns.ts";
import { walkedDevices } from "./walk.ts";
import { cableWithEnds, lowered, sightWords } from "./words.ts";

const COLUMNS: readonly SheetColumn[] = [
  { head: "Do", as: "name" },
  { head: "It exercises", as: "text" },
  { head: "You should see and hear", as: "text" },
  { head: "Expected", as: "text" },
  { head: "Seen, and after how long", as: "write" },
  { head: "By, on", as: "write" },
];

/** A line of print. */
const CABLES_MOST = 12;

export function pullSheet(plan: Plan, test: PullTest): Sheet {
  const { pulls, duties, undone, cover, alone, outSeconds } = test;
  const order = inWalkingOrder(plan, pulls);
  const seconds = pulls.reduce((sum, pull) => sum + pull.backSeconds + pull.againAfterSeconds, 0);
  const isOne = alone.length === 1;
  const hasSupplies = pulls.some((pull) => kindOf(pull) === "supply");
  const lead = [
    pulls.length === 0
      ? "This rig has no spare and nothing to switch over to that a pull could exercise."
      : `${capital(counted(pulls.length, "pull", "pulls"))} ${pulls.length === 1 ? "exercises" : "exercise"} ${counted(duties.length - undone.length, "thing", "things")} that must be seen once; ${duration(seconds)} without the walking. ${fewest(cover)}`,
    `Audio running at low level, outputs down at the last device, in-ears out. Leave each cable out${hasSupplies ? ", and each supply off," : ""} for ${duration(outSeconds)}, then put it back and wait. Reboot from the device's own menu.`,
  ];
  const rows = order.map((pull, place) =>
    row(COLUMNS, [
      `${place + 1}. ${doWords(plan, pull)}`,
      `${pull.duties.map((duty) => `• ${dutyWords(plan, duty)}`).join("\n")}\n(${testedOf(pull)})`,
      seeLines(plan, pull).join("\n"),
      timeLines(pull).join("\n"),
    ]),
  );
  return {
    name: "pull-test",
    title: "Pull test",
    lead,
    columns: COLUMNS,
    sections: [{ title: null, rows }],
    after: [
      ...undone.map(
        (duty) =>
          `No pull of this sheet brings about: ${dutyWords(plan, duty)}. It is untested; rehearse it by itself.`,
      ),
      ...(alone.length === 0
        ? []
        : [
            `Without a spare, for all or part of what goes over ${isOne ? "it" : "them"}: ${cables(alone, { most: CABLES_MOST, name: (id) => cableIn(plan, id) })}. What ${isOne ? "its" : "their"} loss does is for the fault cards, not for a pull.`,
          ]),
      `Each row was rehearsed by itself, from a rig at rest; times are of that rehearsal. ${
        hasSupplies
          ? "Power is for qualified people: they switch a supply off, where the instructions of the devices on it allow, and never one that is all that a device has."
          : "Supplies are not pulled here: power is for qualified people."
      }`,
    ],
  };
}

function fewest({ isFewest, atLeast }: PullTest["cover"]): string {
  return isFewest
    ? "Fewer cannot do it."
    : `Fewer may do it, but not fewer than ${atLeast}: all choices were not tried.`;
}

/** Cables as one walks by, then supplies, then reboots, whoever leads last. */
export function inWalkingOrder(plan: Plan, pulls: readonly Pull[]): readonly Pull[] {
  const place = new Map(walkedDevices(plan).map(({ id }, index) => [id, index]));
  const at = ({ faults: [fault], duties }: Pull): number => {
    if (fault === undefined) return 0;
    if (fault.kind === "reboot")
      return 1e6 * (duties.some(({ kind }) => kind === "away") ? 2 : 1) + (place.get(fault.on) ?? 0);
    if (fault.kind === "supply-out") return 1e5 + Math.min(...fault.devices.map((id) => place.get(id) ?? 0));
    const link = plan.links.find(({ id, line }) => id === fault.on || line?.id === fault.on);
    return link === undefined ? 0 : Math.min(place.get(link.a.device) ?? 0, place.get(link.b.device) ?? 0);
  };
  return pulls.toSorted((one, other) => at(one) - at(other));
}

export function doWords(plan: Plan, { faults }: Pull): string {
  const [first] = faults;
  if (first?.kind === "reboot") return `Reboot ${theDevice(deviceOf(plan, first.on))}`;
  if (first?.kind === "supply-out") return `Have supply ${first.on} switched off`;
  const words = faults.map(({ on, id }) => {
    const link = plan.links.find((each) => each.id === on);
    return id.endsWith(" whole") || link === undefined
      ? `word-clock line ${on} at its sender`
      : cableWithEnds(plan, link);
  });
  return `Pull ${words.join("\nand with it ")}`;
}

export function dutyWords(plan: Plan, duty: Duty): string {
  switch (duty.kind) {
    case "out":
      return `${theCableIn(plan, duty.link)} has been out`;
    case "carries":
      return `${theCableIn(plan, duty.link)} carries`;
    case "alone":
      return `${theCableIn(plan, duty.link)} carries alone`;
    case "source":
      return `${theDevice(deviceOf(plan, duty.device))} goes to ${source(duty.source)}`;
    case "away":
      return `the rig without ${theDevice(deviceOf(plan, duty.device))}, and its return`;
    case "leads":
      return `somebody else leads ${theNetwork(plan, duty.network)}`;
    case "passes":
      return `${theNetwork(plan, duty.network)} goes another way, over ${theCableIn(plan, duty.link)}`;
    case "supply":
      return `${theDevice(deviceOf(plan, duty.device))} goes on without supply ${duty.supply}`;
  }
}

export function kindOf({ faults: [fault] }: Pick<Pull, "faults">): PulledKind {
  return fault?.kind === "reboot" ? "reboot" : fault?.kind === "supply-out" ? "supply" : "cable";
}

function testedOf({ faults, tested }: Pull): string {
  return tested !== null && faults.every(({ kind }) => kind === "cable-out") ? `pulled on ${tested}` : "untested";
}

/** What is seen, line by line; empty: nothing changes, and all is as before. */
export interface SeenWords {
  readonly whileOut: readonly string[];
  readonly afterwards: readonly string[];
}

export function seenWords(plan: Plan, pull: Pull): SeenWords {
  const { out, left, carriers, backSeconds } = pull;
  const lines = (sights: Pull["out"]) =>
    plan.devices.flatMap((device) => {
      const sight = sights.get(device.id);
      return sight === undefined ? [] : [`${deviceHead(device)}: ${lowered(sightWords(sight))}`];
    });
  const spares = new Set(carriers.map(({ spare }) => spare));
  const carrying = [...spares].flatMap((spare) => {
    const whileOut = carriers.findLast((each) => each.spare === spare && each.afterSeconds < backSeconds)?.link;
    const first = carriers.find((each) => each.spare === spare)?.link;
    if (whileOut === undefined || whileOut === first) return [];
    const isByHand = plan.spares.some(({ id, mode }) => id === spare && mode === "manual");
    return [`${capital(cableIn(plan, whileOut))} carries${isByHand ? ", once somebody has changed over to it" : ""}`];
  });
  return { whileOut: [...carrying, ...lines(out)], afterwards: [...notBack(plan, pull), ...lines(left)] };
}

function seeLines(plan: Plan, pull: Pull): string[] {
  const { before, left, harms } = pull;
  const { whileOut, afterwards } = seenWords(plan, pull);
  const turns = TURNS[kindOf(pull)];
  return [
    `${turns.out}: ${whileOut.length === 0 ? "nothing changes" : whileOut.join("; ")}.`,
    `${turns.back}: ${afterwards.length === 0 ? "all as before" : afterwards.join("; ")}${before.size > 0 && left.size > 0 ? " (not as before)" : ""}.`,
    `You should hear: ${heardWords(plan, harms)}.`,
  ];
}

function notBack(plan: Plan, { carriers }: Pull): string[] {
  const spares = new Set(carriers.map(({ spare }) => spare));
  return [...spares].flatMap((spare) => {
    const own = carriers.filter((each) => each.spare === spare);
    const last = own.at(-1)?.link;
    return last === undefined || last === own[0]?.link ? [] : [`${capital(cableIn(plan, last))} still carries`];
  });
}

/** "PA: one dropout; nobody else anything" */
export function heardWords(plan: Plan, harms: readonly FeedHarm[]): string {
  const said = feedsInOrder({ plan }).flatMap(({ id }) => {
    const harm = harms.find(({ feed }) => feed === id);
    const words = harm === undefined ? null : tollWords(asToll(harm));
    return words === null ? [] : [`${listener(feedOf(plan, id), plan.feeds).head}: ${words}`];
  });
  return said.length === 0 ? "nothing of it" : said.join("; ");
}

/** Of one rehearsal. */
export function asToll({ isAtFullLevel, ...harm }: FeedHarm): FeedToll {
  return { ...harm, trials: 1, heard: harm.normalAfterSeconds === 0 ? 0 : 1, atFullLevel: isAtFullLevel ? 1 : 0 };
}

function timeLines(pull: Pull): string[] {
  const { outAfterSeconds, backSeconds, againAfterSeconds } = pull;
  const kind = kindOf(pull);
  return [
    outAfterSeconds === 0
      ? ""
      : `${kind === "reboot" ? "Settled without it" : "Settled"}: ${duration(outAfterSeconds)}`,
    ...(kind === "reboot" ? [`Back: ${duration(backSeconds)}`] : []),
    againAfterSeconds === 0 ? "" : `${TURNS[kind].settled}: ${duration(againAfterSeconds)} later`,
  ].filter((line) => line !== "");
}
