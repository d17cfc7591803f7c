/** Holds a run against what its scenario expects. */
import type { Bounds, ExpectPlan } from "../shared/plan.ts";
import type { DeviceSummary, ExpectSummary, FeedSummary, LinkSummary } from "../shared/summary.ts";
import { nsFromSeconds, secondsFromNs } from "../shared/time.ts";
import { formatShowTime } from "../shared/units.ts";

export function judge(
  expect: readonly ExpectPlan[],
  devices: readonly DeviceSummary[],
  links: readonly LinkSummary[],
  feeds: readonly FeedSummary[],
): ExpectSummary[] {
  return expect.flatMap((each) => {
    if (each.kind === "feed") return judgeFeed(each, feeds);
    return [each.kind === "device" ? judgeDevice(each, devices) : judgeLink(each, links)];
  });
}

function judgeFeed(expect: Extract<ExpectPlan, { kind: "feed" }>, feeds: readonly FeedSummary[]): ExpectSummary[] {
  const feed = feeds.find((each) => each.id === expect.feed);
  if (feed === undefined) return [{ expected: `${expect.feed} is a feed`, met: false, found: "there is no such feed" }];
  const numbers: [string, Bounds, number, string][] = [
    ["slips", expect.slips, feed.slips, ""],
    ["silence", expect.silentSeconds, feed.silentSeconds, " s"],
    ["dropouts", expect.dropouts, feed.dropouts.whileFaulty + feed.dropouts.onReturn, ""],
  ];
  return numbers
    .filter(([, bounds]) => bounds.min !== null || bounds.max !== null)
    .map(([what, bounds, value, unit]) => ({
      expected: `${expect.feed}: ${what} ${boundsInWords(bounds, unit)}`,
      met: (bounds.min === null || value >= bounds.min) && (bounds.max === null || value <= bounds.max),
      found: `${plainNumber(value)}${unit}`,
    }));
}

function boundsInWords({ min, max }: Bounds, unit: string): string {
  if (min !== null && min === max) return `exactly ${plainNumber(min)}${unit}`;
  if (min !== null && max !== null) return `from ${plainNumber(min)} to ${plainNumber(max)}${unit}`;
  return min !== null ? `at least ${plainNumber(min)}${unit}` : `at most ${plainNumber(max as number)}${unit}`;
}

/** Three digits behind the point at most. */
function plainNumber(value: number): string {
  return String(Math.round(value * 1000) / 1000);
}

function shown(seconds: number): string {
  return formatShowTime(nsFromSeconds(seconds));
}

function judgeDevice(
  expect: Extract<ExpectPlan, { kind: "device" }>,
  devices: readonly DeviceSummary[],
): ExpectSummary {
  const [from, to] = [secondsFromNs(expect.fromNs), secondsFromNs(expect.toNs)];
  const stretches = devices.find((each) => each.id === expect.device)?.states ?? [];
  const other = stretches.find((each) => each.fromSeconds < to && each.toSeconds > from && each.state !== expect.is);
  return {
    expected: `${expect.device} is ${expect.is} from ${formatShowTime(expect.fromNs)} to ${formatShowTime(expect.toNs)}`,
    met: other === undefined,
    found:
      other === undefined ? `${expect.is} throughout` : `${other.state} at ${shown(Math.max(other.fromSeconds, from))}`,
  };
}

function judgeLink(expect: Extract<ExpectPlan, { kind: "link" }>, links: readonly LinkSummary[]): ExpectSummary {
  const [from, to] = [secondsFromNs(expect.fromNs), secondsFromNs(expect.toNs)];
  const stretches = links.filter((each) => each.id === expect.link).flatMap((each) => each.states);
  const other = stretches.find((each) => each.fromSeconds < to && each.toSeconds > from && each.clock !== expect.clock);
  return {
    expected: `the clock of ${expect.link} is ${expect.clock} from ${formatShowTime(expect.fromNs)} to ${formatShowTime(expect.toNs)}`,
    met: other === undefined,
    found:
      other === undefined
        ? `${expect.clock} throughout`
        : `${other.clock} at ${shown(Math.max(other.fromSeconds, from))}`,
  };
}
