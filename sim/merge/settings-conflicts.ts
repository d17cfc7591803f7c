/** What two plans say of the rig as a whole: who leads, at which rate, on which networks; and what they say of "all". */
import type { Path } from "../../shared/issues.ts";
import { fieldsOf, itemsOf } from "../../shared/mentions.ts";
import type { Said } from "../meaning.ts";
import { canonical } from "../stamp.ts";
import { kilohertz, listed } from "../tell/words.ts";
import type { Company } from "./company.ts";
import { bothSay, type Companies, type Conflict, placesOf } from "./conflict.ts";
import type { Join } from "./join.ts";
import { runConflicts } from "./run.ts";
import { pathConflicts, supplyConflicts } from "./shared-conflicts.ts";
import { isOneThing, THINGS, type Twin } from "./things.ts";

export interface Asked {
  readonly joins: readonly Join[];
  readonly twins: readonly Twin[];
}

export function settingsConflicts(companies: Companies, asked: Asked): Conflict[] {
  return [
    ...leaderConflicts(companies, asked),
    ...rateConflicts(companies),
    ...networkConflicts(companies, asked),
    ...identityConflicts(companies, asked),
    ...pathConflicts(companies),
    ...supplyConflicts(companies),
    ...runConflicts(companies),
    ...weatherConflicts(companies),
    ...expectConflicts(companies, asked),
    ...acceptanceConflicts(companies),
  ];
}

function leaderConflicts(companies: Companies, asked: Asked): Conflict[] {
  const [one, other] = companies;
  const places = placesOf(companies, ["rig", "leaders", 0], ["rig", "leaders", 0]);
  const without = companies.filter(({ leader }) => leader === null);
  if (without.length > 0)
    return [
      {
        ...{ kind: "no-leader", about: listed(without.map(({ name }) => name)), places },
        what: `${listed(without.map(({ label }) => label))}: no device is meant to lead.`,
        question: "Which device leads there when it stands alone?",
        remedy: 'Name it first in "leaders". Until then it is not said who would follow.',
        isBlocking: false,
      },
    ];
  if (one.leader === other.leader && isOneThing(asked.twins, "device", String(one.leader))) return [];
  return [
    {
      ...{ kind: "two-leaders", about: "leaders", places },
      what: `Two leaders: ${one.leader} of ${one.label} and ${other.leader} of ${other.label}.`,
      question: "Which of the two leads when they are joined, or does neither follow the other?",
      remedy: "The ways to join are rehearsed beside each other; agree about one, and who sets it.",
      isBlocking: false,
    },
  ];
}

function rateConflicts(companies: Companies): Conflict[] {
  const [one, other] = companies;
  const [here, there] = [one.plan.sampleRateHz, other.plan.sampleRateHz];
  if (here === there) return [];
  return [
    {
      ...{ kind: "sample-rate", about: "sampleRateHz", isBlocking: false },
      places: placesOf(companies, ["rig", "sampleRateHz"], ["rig", "sampleRateHz"]),
      what: `Two sample rates: ${bothSay(companies, kilohertz(here), kilohertz(there))}.`,
      question: "Which company changes its rate, or is there a converter at each input where audio crosses?",
      remedy:
        "With one leader the follower's devices are set to the leader's rate; a house clock sets all to the lower one; with converters both keep theirs.",
    },
  ];
}

/** Networks that become one: by an ethernet cable between them. */
export function networksJoined({ joins, twins }: Asked, companies: Companies): readonly (readonly [string, string])[] {
  const pairs = joins.flatMap(({ type, ends }): (readonly [string, string])[] => {
    if (type !== "ethernet") return [];
    const [one, other] = ends.map(({ device }, side) => networkOf(companies[side] as Company, device));
    return one === undefined || other === undefined ? [] : [[one, other]];
  });
  const known = new Set<string>();
  return pairs.filter(([one, other]) => {
    const isSame = one === other && isOneThing(twins, "network", one);
    const isNew = !known.has(`${one} ${other}`);
    known.add(`${one} ${other}`);
    return isNew && !isSame;
  });
}

/** The network of a device's ethernet cables; the first where it is on several, undefined where it is on none. */
export function networkOf({ plan }: Company, device: string): string | undefined {
  return plan.links.find(({ ethernet, a, b }) => ethernet !== undefined && (a.device === device || b.device === device))
    ?.ethernet?.network;
}

function networkConflicts(companies: Companies, asked: Asked): Conflict[] {
  const [one, other] = companies;
  return networksJoined(asked, companies).flatMap(([here, there]): Conflict[] => {
    const [first, second] = [one.plan.networks, other.plan.networks].map((all, side) =>
      all?.find(({ id }) => id === (side === 0 ? here : there)),
    );
    if (first === undefined || second === undefined) return [];
    const fields = (["domain", "profile", "recovery"] as const).filter((field) => first[field] !== second[field]);
    return fields.map((field) => ({
      kind: "network",
      about: `${field} of ${here} and ${there}`,
      places: placesOf(companies, networkPath(one, here, field), networkPath(other, there, field)),
      what: `An ethernet cable makes one network of ${here} and ${there}: ${bothSay(companies, `${field} ${first[field]}`, `${field} ${second[field]}`)}.`,
      question: `Which ${field} does the joined network have?`,
      remedy: "Whoever follows is set to what the leader's network has.",
      isBlocking: false,
    }));
  });
}

/** By which no two devices of the world may go: one of the two entries is not right. */
function identityConflicts(companies: Companies, { twins }: Asked): Conflict[] {
  const [here, there] = companies.map(({ value }) =>
    itemsOf(fieldsOf(value.rig).devices).flatMap(([device, index]) => {
      const { identity } = fieldsOf(device.ptp);
      return typeof identity === "string" ? [{ id: String(device.id), index, identity: identity.toLowerCase() }] : [];
    }),
  );
  return (here ?? []).flatMap((one): Conflict[] =>
    (there ?? []).flatMap((other): Conflict[] => {
      if (one.identity !== other.identity || (one.id === other.id && isOneThing(twins, "device", one.id))) return [];
      const path = (index: number): Path => ["rig", "devices", index, "ptp", "identity"];
      return [
        {
          ...{ kind: "identity", about: one.identity, isBlocking: true },
          places: placesOf(companies, path(one.index), path(other.index)),
          what: `Both plans give the identity ${one.identity}: ${companies[0].label} to ${one.id}, ${companies[1].label} to ${other.id}.`,
          question: "Whose is it, or are the two one device?",
          remedy:
            "Correct the one that is wrong, or leave it out. If they are one device: one id in both files, then --same.",
        },
      ];
    }),
  );
}

function networkPath({ value }: Company, id: string, field: string): Path {
  const index = itemsOf(fieldsOf(value.rig).networks).findIndex(([network]) => network.id === id);
  return index < 0 ? ["rig"] : ["rig", "networks", index, field];
}

function isWeather(event: Readonly<Record<string, unknown>>): boolean {
  return event.do === "temperature" && event.device === undefined;
}

function weatherConflicts(companies: Companies): Conflict[] {
  const found = companies.map(({ value }) => itemsOf(value.events).find(([event]) => isWeather(event))?.[1]);
  const who = companies.filter((_, side) => found[side] !== undefined);
  if (who.length === 0) return [];
  const [here, there] = found.map((index): Path => (index === undefined ? ["events"] : ["events", index]));
  return [
    {
      ...{ kind: "weather", about: "temperature", isBlocking: false },
      places: placesOf(companies, here as Path, there as Path),
      what: `In ${listed(who.map(({ label }) => label))} it becomes warmer or colder around every device.`,
      question: "Does it for the other company's devices too?",
      remedy: "It does for its own only; write an event for the others if they stand in the same sun.",
    },
  ];
}

function expectConflicts(companies: Companies, asked: Asked): Conflict[] {
  const [one, other] = companies;
  return THINGS.flatMap(({ kind, word }) =>
    itemsOf(one.value.expect).flatMap(([expected, index]): Conflict[] => {
      const id = expected[kind];
      if (typeof id !== "string" || !isOneThing(asked.twins, kind, id)) return [];
      return itemsOf(other.value.expect).flatMap(([counterpart, at]): Conflict[] =>
        counterpart[kind] !== id || canonical(expected as Said) === canonical(counterpart as Said)
          ? []
          : [
              {
                ...{ kind: "expectation", about: `${word} ${id}`, isBlocking: false },
                places: placesOf(companies, ["expect", index], ["expect", at]),
                what: `Both plans expect something of ${word} ${id}, and not the same.`,
                question: "What do both expect of it when they are joined?",
                remedy: "Both expectations are kept, and each is judged.",
              },
            ],
      );
    }),
  );
}

function acceptanceConflicts(companies: Companies): Conflict[] {
  const [one, other] = companies;
  return companies.flatMap((company) =>
    acceptancesOfAll(company).map((path): Conflict => {
      const isFirst = company === one;
      return {
        ...{ kind: "acceptance", about: `${company.name} ${path.join(".")}`, isBlocking: false },
        places: isFirst ? placesOf(companies, path, ["accepted"]) : placesOf(companies, ["accepted"], path),
        what: `${company.label} accepts what a rule finds, whichever device it is about.`,
        question: `Does ${(isFirst ? other : one).label} accept it too?`,
        remedy: `It holds for the devices of ${company.label} alone; name devices to say more.`,
      };
    }),
  );
}

/** Those that name neither devices nor links. */
export function acceptancesOfAll({ value }: Company): readonly Path[] {
  const lists: readonly (readonly [Path, unknown])[] = [
    [["accepted"], value.accepted],
    [["rig", "accepted"], fieldsOf(value.rig).accepted],
  ];
  return lists.flatMap(([base, list]) =>
    itemsOf(list).flatMap(([item, index]) =>
      item.devices === undefined && item.links === undefined ? [[...base, index]] : [],
    ),
  );
}
