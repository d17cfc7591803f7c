/** What to do about a fault, what to leave, and where to look first: common practice, no source. */
import type { Plan } from "../../shared/plan.ts";
import { deviceById } from "../by-id.ts";
import { NEVER_TO_STOP_NOISE } from "../tell/cautions.ts";
import { along, duration, inSentence, listed, theCableIn, theDevice } from "../tell/words.ts";
import { type Fault, REPAIRED_BY } from "../trials/list.ts";
import type { CaseToll } from "../trials/rank.ts";
import { cableWithEnds, sourcesInOrder } from "./words.ts";

/**
 * A cable among ten devices that hang is what one would not think of: the first of each kind, as people mend them, then
 * the others.
 */
export function kindsFirst(tolls: readonly CaseToll[]): readonly CaseToll[] {
  const kinds = tolls.map(({ faults }) => REPAIRED_BY[(faults[0] as Fault).kind]);
  const isFirst = (place: number) => kinds.indexOf(kinds[place] ?? null) === place;
  return [...tolls.filter((_, place) => isFirst(place)), ...tolls.filter((_, place) => !isFirst(place))];
}

/** In order; muting comes before all of it. */
export function todoWords(plan: Plan, fault: Fault): string[] {
  const { kind, on } = fault;
  const found = deviceById(plan, on);
  const device = found === undefined ? on : theDevice(found);
  const look = "Look at both ends: locked, and to the source that the settings sheet names. Then bring up slowly.";
  switch (kind) {
    case "cable-out":
    case "one-way-out":
    case "dead-spare":
      return [`Find ${cables(plan, fault)}. Ears out, outputs down, then plug it in, or run another.`, look, tag];
    case "bad-contact":
      return [
        `Leave ${cables(plan, fault)} alone until a break. Where a spare is plugged in, change over to it then.`,
        "In the break: ears out, outputs down, change the cable.",
        tag,
      ];
    case "path-cut":
      return [
        `Keep people away from what is laid ${along(on)}. Cut are: ${listed(fault.links.map((id) => theCableIn(plan, id)))}.`,
        "Run what was laid in reserve along another path.",
        look,
      ];
    case "power-out":
      return [
        `Ask whoever is qualified for power to bring it back to ${device}. Outputs behind it stay down.`,
        waits(plan, fault),
        look,
      ];
    case "supply-out":
      return [
        `Call whoever is responsible for supply ${on}. On it: ${listed(fault.devices.map((id) => named(plan, id)))}.`,
        "Keep outputs down until all of them show what they should.",
        look,
      ];
    case "reboot":
    case "engine-reboot":
      return [waits(plan, fault), "Tell the stage how long it takes.", look];
    case "surface-reboot":
      return [
        "Let it boot. The sound goes on; nobody can mix or mute at it meanwhile.",
        "Mute behind it if anything has to be muted.",
      ];
    case "hang":
      return [
        `Mute behind it: its own mute may do nothing. Then reboot ${device} from its own menu, or as its instructions say.`,
        waits(plan, fault),
        look,
      ];
    case "setting-lost":
      return [
        `At ${device} look at its clock source: it should name ${found === undefined ? "" : sourcesInOrder(found.clockSources)}.`,
        "Ears out, outputs down, then set it.",
        look,
      ];
    case "no-sync":
      return [
        `Followers show ${device} as leader and run apart. Ears out, outputs down, then take it out of the election, or reboot it.`,
        look,
      ];
    case "stuck":
      return [
        `At ${device} choose the source by hand that the settings sheet names next. Ears out, outputs down first.`,
        look,
      ];
  }
}

const tag = "Tag the cable and keep it out of stock until it is tested.";

export function neverWords(plan: Plan, { kind, devices }: Fault): string[] {
  const leads = devices.some((id) => plan.leaders.includes(id));
  const own = ((): string[] => {
    switch (kind) {
      case "reboot":
      case "engine-reboot":
      case "power-out":
      case "supply-out":
        return leads
          ? ["Do not set others to their own clocks meanwhile.", "Do not let it come back with outputs up or ears in."]
          : ["Do not reboot anything else meanwhile."];
      case "hang":
        return ["Do not trust its own mutes."];
      case "bad-contact":
        return ["Do not wiggle the plug while anything is up."];
      case "path-cut":
        return ["Do not pull at what is crushed or under load."];
      default:
        return ["Do not change a clock source during a song."];
    }
  })();
  return [...own, NEVER_TO_STOP_NOISE];
}

/** Where to look first when only the symptom is known. */
export function firstCheck(plan: Plan, fault: Fault): string {
  const { kind, on, devices } = fault;
  const device = deviceById(plan, on);
  const name = device === undefined ? on : theDevice(device);
  switch (kind) {
    case "cable-out":
    case "one-way-out":
    case "bad-contact":
    case "dead-spare":
      return `Both ends of ${cables(plan, fault)}`;
    case "path-cut":
      return `Walk ${along(on)}`;
    case "power-out":
      return `Is ${name} dark?`;
    case "supply-out":
      return `Are ${listed(devices.map((id) => named(plan, id)))} dark?`;
    case "reboot":
    case "engine-reboot":
    case "surface-reboot":
      return `Is ${name} booting?`;
    case "hang":
      return `Does ${name} answer its own buttons?`;
    case "setting-lost":
    case "stuck":
      return `Clock source at ${name}`;
    case "no-sync":
      return `Does ${name} say that it leads while its followers coast?`;
  }
}

function cables(plan: Plan, { links, on, id }: Fault): string {
  if (id.endsWith(" whole")) return `the word-clock line ${on}`;
  const found = links.flatMap((each) => plan.links.find((link) => link.id === each) ?? []);
  return listed(found.map((link) => cableWithEnds(plan, link)));
}

function named(plan: Plan, id: string): string {
  const device = deviceById(plan, id);
  return device === undefined ? id : inSentence(device.name);
}

function waits(plan: Plan, { on }: Fault): string {
  const device = deviceById(plan, on);
  return device === undefined ? "Wait." : `Wait: ${theDevice(device)} boots for ${duration(device.bootSeconds)}.`;
}
