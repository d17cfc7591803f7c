/** Where the time goes: plays the show under the engine's own sampling profiler. */
import { writeFileSync } from "node:fs";
import type { Profiler } from "node:inspector";
import { Session } from "node:inspector/promises";
import { basename } from "node:path";
import type { Page } from "playwright-core";

const SAMPLE_MICROSECONDS = 200;

/** Writes a profile that a browser's developer tools open, and returns the share of each function, largest first. */
export async function profile(
  job: () => void,
  file: string,
): Promise<{ readonly place: string; readonly percent: number }[]> {
  const session = new Session();
  session.connect();
  await session.post("Profiler.enable");
  await session.post("Profiler.setSamplingInterval", { interval: SAMPLE_MICROSECONDS });
  await session.post("Profiler.start");
  job();
  const { profile: found } = await session.post("Profiler.stop");
  session.disconnect();
  writeFileSync(file, JSON.stringify(found));
  return sharesOf(found);
}

/** The same of what a page does meanwhile. */
export async function profilePage(
  page: Page,
  job: () => Promise<unknown>,
  file: string,
): Promise<{ readonly place: string; readonly percent: number }[]> {
  const session = await page.context().newCDPSession(page);
  await session.send("Profiler.enable");
  await session.send("Profiler.setSamplingInterval", { interval: SAMPLE_MICROSECONDS });
  await session.send("Profiler.start");
  await job();
  const { profile: found } = await session.send("Profiler.stop");
  await session.detach();
  writeFileSync(file, JSON.stringify(found));
  return sharesOf(found as Profiler.Profile);
}

/** Time in each function itself, without what it calls. */
function sharesOf({ nodes, samples = [], timeDeltas = [] }: Profiler.Profile): { place: string; percent: number }[] {
  const places = new Map(
    nodes.map(({ id, callFrame: { functionName, url, lineNumber } }) => [
      id,
      `${functionName || "(unnamed)"}${url === "" ? "" : ` ${basename(url)}:${lineNumber + 1}`}`,
    ]),
  );
  const spent = new Map<string, number>();
  let total = 0;
  for (const [i, id] of samples.entries()) {
    const place = places.get(id) ?? "";
    const microseconds = timeDeltas[i] ?? 0;
    spent.set(place, (spent.get(place) ?? 0) + microseconds);
    total += microseconds;
  }
  return [...spent]
    .map(([place, microseconds]) => ({ place, percent: (100 * microseconds) / total }))
    .sort((a, b) => b.percent - a.percent);
}
