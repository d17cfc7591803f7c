/** A network's rows in words: what a port has become and why, and over which cables packets go. */
import type { Plan } from "../../shared/plan.ts";
import type { Fact } from "../../shared/record.ts";
import { deviceById } from "../by-id.ts";
import { networkOfBridging } from "../network/outcome.ts";
import { agree, isPlural, listed, theCable, theDevice, theNetwork } from "./words.ts";

export function nameIn(plan: Plan, id: string): string {
  const device = deviceById(plan, id);
  return device === undefined ? id : theDevice(device);
}

/** Devices stand in a reason by their ids, each in its place: `sim/network/node-words.ts` makes them. */
const REASONS: readonly RegExp[] = [
  /^(\S+)( has the (?:better|steadier|lower) .+)$/,
  /^(\S+)( is heard another way)$/,
  /^(\S+)( announces itself now)$/,
  /^(\S+)( announces )(\S+)( now)$/,
  /^(\S+)( announces)$/,
  /^(the way over )(\S+)( is the better one)$/,
  /^(another way to )(\S+)( is the better one)$/,
  /^(it waits before it passes on the time of )(\S+)$/,
  /^(it passes on the time of )(\S+)$/,
  /^(\S+)( announced nothing for .+)$/,
  /^(no sync (?:came|comes) from )(\S+)$/,
];

/** A reason of a row with the names of its devices; one that names none as it is. */
export function networkReason(plan: Plan, reason: string): string {
  for (const pattern of REASONS) {
    const parts = pattern.exec(reason)?.slice(1);
    if (parts === undefined) continue;
    return parts.map((part) => (deviceById(plan, part) === undefined ? part : nameIn(plan, part))).join("");
  }
  return reason;
}

/** Whether a reason of a device's clock is one that its network gives. */
export function isNetworkReason(reason: string): boolean {
  return REASONS.some((pattern) => pattern.test(reason)) || PLAIN_REASONS.has(reason);
}

const PLAIN_REASONS = new Set([
  "its cable is out",
  "it is off, or starting",
  "it leads its network itself",
  "it follows nobody on its network",
  "nobody leads its network",
]);

/** "the monitor desk leads the Red network: nobody announced for 6.2 s"; `subject`: "node mon red". */
export function electionWords(plan: Plan, subject: string, fact: Extract<Fact, { kind: "election" }>): string {
  const [, id = "", network = ""] = subject.split(" ");
  const device = deviceById(plan, id);
  const who = device === undefined ? id : theDevice(device);
  const verb = (one: string, many: string) => agree(device !== undefined && isPlural(device.name), one, many);
  const name = theNetwork(plan, network);
  const at = fact.port === null ? "" : ` at port ${fact.port}`;
  const leader = fact.leader === null ? "nobody" : nameIn(plan, fact.leader);
  const over = fact.parent === null || fact.parent === fact.leader ? "" : `, through ${nameIn(plan, fact.parent)}`;
  const why = fact.reason === "as the show begins" ? " as the show begins" : `: ${networkReason(plan, fact.reason)}`;
  switch (fact.role) {
    case "leads":
      return fact.parent === null
        ? `${who} ${verb("leads", "lead")} ${name}${at}${why}`
        : `${who} ${verb("passes", "pass")} on the time of ${leader} on ${name}${at}${why.replace(/: it passes on .*$/, "")}`;
    case "follows":
      return `${who} ${verb("follows", "follow")} ${leader} on ${name}${over}${at}${why}`;
    case "passive":
      return `${who} ${verb("stands", "stand")} aside on ${name}${at}${why}`;
    case "about-to-lead":
      return `${who} ${verb("is", "are")} about to pass on the time of ${leader} on ${name}${at}`;
    case "listening":
      return `${who} ${verb("listens", "listen")} for a leader on ${name}${at}`;
    case "down":
      return `${who} ${verb("is", "are")} not on ${name}${at}${why}`;
  }
}

/** "the Red network has found its way over cable trunk; cable trunk-2 is held back as a spare"; `subject`: "bridging red 2". */
export function bridgingWords(
  plan: Plan,
  subject: string,
  { forwards, blocked, storm }: Extract<Fact, { kind: "bridging" }>,
): string {
  const network = networkOfBridging(subject.slice("bridging ".length));
  if (storm) return stormWords(plan, network);
  const name = theNetwork(plan, network);
  const held = blocked.length === 0 ? "" : `; ${heldBack(blocked)}`;
  if (forwards.length === 0) return `no cable between switches carries on ${name}${held}`;
  return `${name} goes over ${listed(forwards.map(theCable))}${held}`;
}

export function heldBack(links: readonly string[]): string {
  return `${listed(links.map(theCable))} ${agree(links.length > 1, "is", "are")} held back as a spare`;
}

export function stormWords(plan: Plan, network: string): string {
  return `packets go round on ${theNetwork(plan, network)} without end, and nothing passes: nothing holds a cable back`;
}
