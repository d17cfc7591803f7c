/** Where the ends of each cable are, in order of time: which port a plug is in, which one is free. */
import { quote } from "./issues.ts";
import { cableOf } from "./lines.ts";
import type { LinkPlan } from "./plan.ts";
import { portKey } from "./scenario-cables.ts";
import type { Place } from "./scenario-draft.ts";
import type { LinkEnd, Rig, Side } from "./scenario-names.ts";
import { SIDES } from "./scenario-names.ts";
import type { EventFile } from "./scenario-schema.ts";
import type { Ns } from "./time.ts";
import { formatShowTime } from "./units.ts";

/** The cable of an event: the link that it goes by, all that its ends are, and which end is meant (null: all). */
export interface Plugged {
  readonly link: LinkPlan;
  readonly ends: readonly LinkEnd[];
  readonly side: Side | null;
}

/** A port holds the plugs of one cable. A stream has no plugs, they are its ethernet cable's: events end or begin it. */
export class Plugs {
  private readonly rig: Rig;
  /** The end to the port it is in, or was in last. */
  private readonly portOf = new Map<string, number>();
  private readonly out = new Set<string>();
  private readonly holder = new Map<string, string>();
  /** Ports that an event plugs something into: these are in use, if later. */
  readonly laterPorts = new Map<string, LinkEnd[]>();

  constructor(rig: Rig) {
    this.rig = rig;
    for (const { plan } of rig.links.values()) {
      if (plan.stream !== undefined) continue;
      for (const side of SIDES) {
        const key = endKey({ link: plan, side });
        this.portOf.set(key, plan[side].port);
        if (plan.atStart === "unplugged") this.out.add(key);
        else this.holder.set(portKey(plan[side].device, plan[side].port), cableOf(plan));
      }
    }
    for (const { value } of rig.draft.events) {
      if (value?.do !== "plug" || value.into === undefined || value.end === undefined) continue;
      const plan = rig.links.get(value.link)?.plan;
      const named = plan === undefined ? null : this.endsNamed(plan, value.end);
      for (const { link, side } of named?.ends ?? []) {
        const key = portKey(link[side].device, value.into);
        const there = this.laterPorts.get(key) ?? [];
        if (there.some((one) => one.link === link && one.side === side)) continue;
        this.laterPorts.set(key, [...there, { link, side }]);
      }
    }
  }

  /** Links of the same cable: one, or the taps of a line. */
  private linksOf(link: LinkPlan): readonly LinkPlan[] {
    const { line } = link;
    if (line === undefined) return [link];
    return [...this.rig.links.values()].flatMap(({ plan }) => (plan.line?.id === line.id ? [plan] : []));
  }

  private endsNamed(link: LinkPlan, end: string | undefined): Plugged | null {
    const links = this.linksOf(link);
    const on = (side: Side): LinkEnd[] => links.map((each) => ({ link: each, side }));
    if (end === undefined) return { link, ends: [...on("a").slice(0, 1), ...on("b")], side: null };
    if (link.line !== undefined) {
      if (end === "from") return { link, ends: on("a"), side: "a" };
      const tap = links.find(({ b }) => b.device === end);
      return tap === undefined ? null : { link: tap, ends: [{ link: tap, side: "b" }], side: "b" };
    }
    const isAt = (side: Side): boolean =>
      link.twoWay ? link[side].device === end : end === (side === "a" ? "from" : "to");
    const side = SIDES.find(isAt);
    return side === undefined ? null : { link, ends: [{ link, side }], side };
  }

  /** Checks `link`, `end`, `way` and `into` of a written event. Null where they name nothing. */
  named(item: Place, event: EventFile & { do: "plug" | "unplug" | "intermittent" }): Plugged | null {
    const { report } = this.rig;
    const link = this.rig.links.get(event.link)?.plan;
    if (!link) return null;
    if (link.stream !== undefined) return this.namedStream(item, event, link);
    const named = this.endsNamed(link, event.end);
    let makesSense = named !== null;
    if (named === null) {
      const [first = "", ...rest] =
        link.line === undefined
          ? link.twoWay
            ? [link.a.device, link.b.device]
            : ["from", "to"]
          : ["from", ...link.line.taps];
      const choice = [...[first, ...rest].slice(0, -1).map(quote), `or ${quote(rest.at(-1))}`];
      const words = choice.length === 2 ? choice.join(" ") : choice.join(", ");
      report(item, ["end"], {
        expected: link.twoWay ? `${words}, the ends of ${quote(link.id)}` : words,
        remedy: "name one of these, or leave end out for both",
      });
    }
    if (event.way !== undefined && link.twoWay) {
      makesSense = false;
      report(item, ["way"], {
        expected: `no way: ${quote(link.id)} carries both ways in one cable`,
        remedy: "leave way out",
      });
    } else if (event.way === "back" && !link.hasReturn) {
      makesSense = false;
      report(item, ["way"], {
        expected: `"there": ${quote(link.id)} has no cable back`,
        remedy: link.line === undefined ? 'leave way out, or set "return": true on the link' : "leave way out",
      });
    }
    if (event.do === "plug" && event.into !== undefined && event.end === undefined) {
      makesSense = false;
      report(item, ["into"], {
        expected: "an end as well, for into says another port at one end",
        remedy: 'add "end"',
      });
    }
    return makesSense ? named : null;
  }

  /** The receiver leaves a stream or joins it again, whichever cables it goes over; only cables have bad contacts. */
  private namedStream(
    item: Place,
    event: EventFile & { do: "plug" | "unplug" | "intermittent" },
    link: LinkPlan,
  ): Plugged | null {
    const { report } = this.rig;
    const cableOnly = {
      expected: `a cable: ${quote(link.id)} is a stream, and has no plug of its own`,
      remedy: "name an ethernet cable that it goes over",
    };
    if (event.do === "intermittent") {
      report(item, ["link"], cableOnly);
      return null;
    }
    let makesSense = true;
    const written = { end: event.end, way: event.way, into: event.do === "plug" ? event.into : undefined };
    for (const [name, value] of Object.entries(written)) {
      if (value === undefined) continue;
      makesSense = false;
      report(item, [name], {
        expected: `no ${name}: ${quote(link.id)} is a stream, and has no plug of its own`,
        remedy: `leave ${name} out, or name an ethernet cable that it goes over`,
      });
    }
    return makesSense ? { link, ends: [], side: null } : null;
  }

  pull({ ends }: Plugged): void {
    for (const end of ends) {
      const key = endKey(end);
      this.out.add(key);
      const port = portKey(end.link[end.side].device, this.portOf.get(key) as number);
      if (this.holder.get(port) === cableOf(end.link)) this.holder.delete(port);
    }
  }

  /** `isSecond`: the second half of an event, which may find the plug in already. */
  push(
    { ends }: Plugged,
    into: number | null,
    item: Place,
    steps: readonly string[],
    atNs: Ns,
    isSecond: boolean,
  ): void {
    const once = new Map(ends.map((end) => [endKey(end), end]));
    for (const [key, { link, side }] of once) {
      const isOut = this.out.has(key);
      if (!isOut && into === null) continue;
      const port = into ?? (this.portOf.get(key) as number);
      const { device } = link[side];
      if (!isOut) {
        this.rig.report(item, steps, {
          expected: `${quote(cableOf(link))} to be out at ${quote(device)} at ${formatShowTime(atNs)}`,
          received: `plugged into port ${this.portOf.get(key)}`,
          remedy: "unplug it there first",
        });
        continue;
      }
      const holder = this.holder.get(portKey(device, port));
      if (holder !== undefined && holder !== cableOf(link)) {
        this.rig.report(item, steps, {
          expected: `a port of ${quote(device)} that is free at ${formatShowTime(atNs)}`,
          received: `port ${port}, which ${quote(holder)} is in`,
          remedy: isSecond
            ? `unplug ${quote(holder)} first, or leave forSeconds out`
            : `unplug ${quote(holder)} first, or choose another port`,
        });
        continue;
      }
      this.out.delete(key);
      this.portOf.set(key, port);
      this.holder.set(portKey(device, port), cableOf(link));
    }
  }
}

/** All taps of a line begin at one plug. */
function endKey({ link, side }: LinkEnd): string {
  return `${side === "a" ? cableOf(link) : link.id} ${side}`;
}
