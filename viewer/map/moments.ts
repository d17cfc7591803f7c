/** What a device or a cable is at one instant, read from the lanes: the map says the same as they do. */
import { firstLater, stretchAt } from "../../sim/lanes/follow.ts";
import type { Lane, Stretch, Strip } from "../../sim/lanes/lane.ts";

export interface Moment {
  readonly lane: Lane;
  readonly stretch: Stretch;
  /** What it becomes next; null: it stays so to the end. */
  readonly next: Stretch | null;
  /** What holds beside its state. */
  readonly beside: readonly Strip[];
  /** What it is on each of its networks. */
  readonly lines: readonly Stretch[];
}

export interface LinkMoment extends Moment {
  /** Dead and held back carry nothing; what comes up does not yet. */
  readonly carries: "yes" | "dead" | "rising" | "held";
  /** What to write at the line; empty: it does what it is there for. */
  readonly word: string;
}

export interface Moments {
  /** The lanes of a link: one, or one for each way. */
  lanesOfLink(id: string): readonly Lane[];
  /** Undefined where the run tells nothing of it. */
  device(id: string, seconds: number): Moment | undefined;
  /** Whether something comes out of it at this end. */
  carries(id: string, out: "a" | "b", seconds: number): boolean;
  /** Of two ways the one that is worse off. */
  link(id: string, seconds: number): LinkMoment | undefined;
}

export function createMoments(lanes: readonly Lane[]): Moments {
  const devices = new Map<string, Lane>();
  const links = new Map<string, Lane[]>();
  for (const lane of lanes) {
    if (lane.kind === "device") devices.set(lane.id, lane);
    if (lane.kind === "link" || lane.kind === "stream") links.set(lane.id, [...(links.get(lane.id) ?? []), lane]);
  }
  return {
    lanesOfLink: (id) => links.get(id) ?? [],
    device(id, seconds) {
      const lane = devices.get(id);
      return lane === undefined ? undefined : momentOf(lane, seconds);
    },
    carries(id, out, seconds) {
      const way = out === "b" ? "there" : "back";
      const lane = links.get(id)?.find(({ key }) => key.endsWith(` ${way}`) || key.endsWith(" both"));
      const stretch = lane === undefined ? undefined : stretchAt(lane.stretches, seconds);
      return stretch !== undefined && carriesIn(stretch) === "yes";
    },
    link(id, seconds) {
      let worst: Moment | undefined;
      for (const lane of links.get(id) ?? []) {
        const moment = momentOf(lane, seconds);
        if (moment !== undefined && (worst === undefined || concern(moment) > concern(worst))) worst = moment;
      }
      return worst === undefined ? undefined : { ...worst, carries: carriesIn(worst.stretch), word: wordOf(worst) };
    },
  };
}

function momentOf(lane: Lane, seconds: number): Moment | undefined {
  const stretch = stretchAt(lane.stretches, seconds);
  if (stretch === undefined) return undefined;
  return {
    lane,
    stretch,
    next: lane.stretches[firstLater(lane.stretches, seconds)] ?? null,
    beside: lane.strips.filter(({ fromSeconds, toSeconds }) => fromSeconds <= seconds && seconds < toSeconds),
    lines: lane.lines.flatMap((line) => stretchAt(line, seconds) ?? []),
  };
}

function concern({ stretch, beside }: Moment): number {
  return Math.max(stretch.look.concern, ...beside.map(({ look }) => look.concern));
}

function carriesIn({ key }: Stretch): LinkMoment["carries"] {
  if (key === "link-down") return "dead";
  if (key === "link-coming-up") return "rising";
  return key === "cable-held-back" ? "held" : "yes";
}

function wordOf({ stretch, beside }: Moment): string {
  const words = beside.filter(({ look }) => look.concern > 0).map(({ look }) => look.short);
  const isPlain = stretch.look.concern === 0 && stretch.key !== "cable-held-back";
  return [...new Set(isPlain ? words : [stretch.look.short, ...words])].join(", ");
}
