/** Faults, and what they come to, in words. */
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import {
  agree,
  along,
  cableIn,
  capital,
  counted,
  deviceHead,
  duration,
  grouped,
  inSentence,
  isPlural,
  theCableIn,
} from "../tell/words.ts";
import type { Fault, FaultKind } from "./list.ts";
import type { CaseToll, FeedToll } from "./rank.ts";

/** What may fail, in the order of {@link FAULT_KINDS}. */
export const KIND_WORDS: Readonly<Record<FaultKind, string>> = {
  "cable-out": "A cable out",
  "one-way-out": "One way of a cable out",
  "bad-contact": "A cable comes and goes",
  "dead-spare": "A spare that is dead",
  "path-cut": "All cut along a path",
  "power-out": "Power of a device",
  "supply-out": "A supply",
  reboot: "A device reboots",
  "engine-reboot": "An engine reboots",
  "surface-reboot": "A surface reboots",
  hang: "A device hangs",
  "setting-lost": "A setting lost",
  "no-sync": "No sync",
  stuck: "Stuck to its source",
};

/** As the head of a line: "Stage box hangs, rebooted after 2 min". */
export function faultWords(plan: Plan, fault: Fault): string {
  const { kind, on, repairedAfterSeconds } = fault;
  const after = repairedAfterSeconds === null ? "" : ` after ${duration(repairedAfterSeconds)}`;
  const device = plan.devices.some(({ id }) => id === on) ? deviceHead(deviceOf(plan, on)) : on;
  const mid = inSentence(device);
  const many = isPlural(device);
  const verb = (one: string, all: string) => agree(many, one, all);
  switch (kind) {
    case "cable-out":
      return fault.id.endsWith(" whole")
        ? `${capital(`word-clock line ${on}`)} out at its sender, back${after}`
        : `${capital(cableIn(plan, on))} out, back${after}`;
    case "one-way-out": {
      const way = fault.id.endsWith(" back") ? "back" : "there";
      const link = plan.links.find(({ id }) => id === on);
      const [from, to] = way === "there" ? [link?.a, link?.b] : [link?.b, link?.a];
      const ends = `${nameOf(plan, from?.device)} to ${nameOf(plan, to?.device)}`;
      return `${capital(cableIn(plan, on))}, only the way from ${ends} out, back${after}`;
    }
    case "bad-contact":
      return `${capital(cableIn(plan, on))} comes and goes for a minute`;
    case "dead-spare": {
      const [spares, main] = [fault.links.slice(1), fault.links[0] as string];
      const dead = spares.map((id) => theCableIn(plan, id)).join(" and ");
      return `${capital(theCableIn(plan, main))} out while ${dead} is dead, back${after}`;
    }
    case "path-cut":
      return `All cut ${along(on)}, mended${after}`;
    case "power-out":
      return `${device} without power, back${after}`;
    case "supply-out":
      return `Supply ${on} out, back${after}`;
    case "reboot":
      return `${device} ${verb("reboots", "reboot")}`;
    case "engine-reboot":
      return `Engine of ${mid} reboots`;
    case "surface-reboot":
      return `Surface of ${mid} reboots`;
    case "hang":
      return `${device} ${verb("hangs", "hang")}, rebooted${after}`;
    case "setting-lost":
      return `${device} ${verb("reboots and comes back on its", "reboot and come back on their")} own clock, set right${after}`;
    case "no-sync":
      return `${device} ${verb("leads", "lead")} without sending sync, mended${after}`;
    case "stuck":
      return `${device} ${verb("does not change its", "do not change their")} source, freed${after}`;
  }
}

export function caseWords(plan: Plan, faults: readonly Fault[]): string {
  return faults.map((fault, place) => (place === 0 ? faultWords : faultMid)(plan, fault)).join("; then ");
}

/** The same where a sentence goes on: "cable foh-pa out, back after 1 min". */
export function caseMid(plan: Plan, faults: readonly Fault[]): string {
  return faults.map((fault) => faultMid(plan, fault)).join("; then ");
}

/** A line that begins with the name of a device keeps it as it is written; any other begins with a word of ours. */
function faultMid(plan: Plan, fault: Fault): string {
  const text = faultWords(plan, fault);
  return NAMED_FIRST.has(fault.kind) ? inSentence(text) : `${text[0]?.toLowerCase()}${text.slice(1)}`;
}

const NAMED_FIRST: ReadonlySet<FaultKind> = new Set([
  "power-out",
  "reboot",
  "hang",
  "setting-lost",
  "no-sync",
  "stuck",
]);

/** How far trials are, and how long still: "37 of 147 trials, 4 s left". */
export function progressWords(done: number, of: number, elapsedSeconds: number, what = "trials"): string {
  const left = duration(Math.ceil(((of - done) * elapsedSeconds) / done));
  return `${grouped(done)} of ${grouped(of)} ${what}, ${left} left`;
}

function nameOf(plan: Plan, id: string | undefined): string {
  const found = plan.devices.find((device) => device.id === id);
  return found === undefined ? (id ?? "") : inSentence(found.name);
}

/** What one listener has of it: "silent for 2 min, then back at full level", "41 clicks"; null: nothing. */
export function tollWords(toll: FeedToll): string | null {
  const { silentSeconds, clicks, dropouts, dropoutsOnReturn, atFullLevel, normalAfterSeconds, mayBeSilent } = toll;
  const parts: string[] = [];
  if (silentSeconds >= 1)
    parts.push(`silent for ${duration(silentSeconds)}${atFullLevel > 0 ? ", then back at full level" : ""}`);
  else if (silentSeconds > 0 && dropouts === 0) parts.push(`a gap of ${duration(silentSeconds)}`);
  // A silence is a dropout too, and has been told.
  const others = dropouts - (silentSeconds >= 1 ? 1 : 0);
  if (clicks > 0) parts.push(counted(clicks, "click", "clicks"));
  if (others > 0) {
    const onReturn = Math.min(others, dropoutsOnReturn);
    const words = counted(others, "dropout", "dropouts");
    const of = onReturn === others ? "" : `, ${counted(onReturn, "of them", "of them")}`;
    parts.push(onReturn === 0 ? words : `${words}${of} on the return`);
  }
  if (parts.length === 0) return mayBeSilent ? "may be silent: test it" : null;
  if (mayBeSilent && clicks > 0) parts.push("or silent instead: test it");
  return normalAfterSeconds === null ? `${parts.join(", ")}, and no end of it` : parts.join(", ");
}

/** How long until nothing more is heard of it by anybody, s; null: no end was seen. */
export function normalAfter({ feeds }: CaseToll): number | null {
  return feeds.reduce<number | null>(
    (most, { normalAfterSeconds }) =>
      most === null || normalAfterSeconds === null ? null : Math.max(most, normalAfterSeconds),
    0,
  );
}
