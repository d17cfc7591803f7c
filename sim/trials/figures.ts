/** What can be said of a layout without any failure rate: what it needs, and what single faults come to. */
import { cableOf, isWholeCable } from "../../shared/lines.ts";
import type { Plan } from "../../shared/plan.ts";
import { type Audience, audiencesOf, type CaseToll, isHeard } from "./rank.ts";

export interface Needs {
  /** Devices, and boxes of them: what is no desk, truck or clock. */
  readonly devices: number;
  readonly cables: number;
  readonly metres: number;
  /** Sockets in use. */
  readonly ports: number;
}

/** A link and its return are two cables on one path; a line with taps is one, whatever hangs on it. */
export function needsOf({ devices, links }: Plan): Needs {
  const cables = links.filter((link) => link.stream === undefined && isWholeCable(link));
  const count = (hasReturn: boolean) => (hasReturn ? 2 : 1);
  const ends = links
    .filter(({ stream }) => stream === undefined)
    .flatMap((link) => [link.a, link.b].map(({ device, port }) => `${device}.${port}`));
  return {
    devices: devices.length,
    cables: new Set(cables.map(cableOf)).size + cables.filter(({ hasReturn }) => hasReturn).length,
    metres: cables.reduce((sum, { lengthMetres, hasReturn }) => sum + lengthMetres * count(hasReturn), 0),
    ports: new Set(ends).size,
  };
}

export interface AudienceFigures {
  readonly audience: Audience;
  readonly hears: number;
  /** Null: never silent. */
  readonly longestSilence: { readonly seconds: number; readonly toll: CaseToll } | null;
  readonly mostClicks: number;
  readonly atFullLevel: number;
}

export interface Figures {
  readonly cases: number;
  readonly heard: number;
  readonly audiences: readonly AudienceFigures[];
}

export function figuresOf(plan: Plan, tolls: readonly CaseToll[], audiences: readonly Audience[]): Figures {
  const heardBy = new Map(plan.feeds.map(({ id, heardBy }) => [id, audiencesOf(heardBy)]));
  return {
    cases: tolls.length,
    heard: tolls.filter(isHeard).length,
    audiences: audiences
      .filter((audience) => [...heardBy.values()].some((each) => each.has(audience)))
      .map((audience): AudienceFigures => {
        const theirs = tolls.map((toll) => ({
          toll,
          feeds: toll.feeds.filter(({ feed }) => heardBy.get(feed)?.has(audience)),
        }));
        const silences = theirs.map(({ toll, feeds }) => ({
          toll,
          seconds: feeds.reduce((most, feed) => Math.max(most, feed.longestSilenceSeconds), 0),
        }));
        const longest = silences.reduce<(typeof silences)[number] | null>(
          (best, each) => (each.seconds > (best?.seconds ?? 0) ? each : best),
          null,
        );
        return {
          audience,
          hears: theirs.filter(({ feeds }) => feeds.some(({ heard }) => heard > 0)).length,
          longestSilence: longest,
          mostClicks: theirs.reduce(
            (most, { feeds }) => feeds.reduce((worst, { clicks }) => Math.max(worst, clicks), most),
            0,
          ),
          atFullLevel: theirs.filter(({ feeds }) => feeds.some(({ atFullLevel }) => atFullLevel > 0)).length,
        };
      }),
  };
}
