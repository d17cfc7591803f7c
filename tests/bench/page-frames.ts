/** Frames while somebody pans, zooms or plays: how many come in time, and what the page's own thread spends on each. */
import type { CDPSession, Page } from "playwright-core";

/** A frame at 60 a second, and a little for the clock. */
const IN_TIME_MS = 18;

export interface Frames {
  readonly count: number;
  /** From 0 to 1. */
  readonly inTimeShare: number;
  /** Of twenty frames all but one come within this. */
  readonly p95Ms: number;
  /** Processor time of the page's main thread: what other programs take on a busy machine is not in it. */
  readonly cpuMs: number;
}

/** `drive` sends one more piece of real input and comes back when the page has it. */
export async function framesWhile(
  page: Page,
  seconds: number,
  drive: (step: number) => Promise<void>,
): Promise<Frames> {
  const session = await page.context().newCDPSession(page);
  await session.send("Performance.enable", { timeDomain: "threadTicks" });
  await page.evaluate(() => {
    const held = globalThis as { frameTimes?: number[] };
    const times: number[] = [];
    held.frameTimes = times;
    const tick = (now: number) => {
      times.push(now);
      if (held.frameTimes === times) requestAnimationFrame(tick);
    };
    requestAnimationFrame(tick);
  });
  const before = await busySeconds(session);
  const end = performance.now() + seconds * 1000;
  for (let step = 0; performance.now() < end; step++) await drive(step);
  const cpuSeconds = (await busySeconds(session)) - before;
  const times = await page.evaluate(() => {
    const held = globalThis as { frameTimes?: number[] };
    const times = held.frameTimes ?? [];
    delete held.frameTimes;
    return times;
  });
  await session.detach();
  const gaps = times.slice(1).map((at, index) => at - times[index]!);
  if (gaps.length === 0) throw new Error(`${page.url()} drew no frame in ${seconds} s`);
  const sorted = gaps.toSorted((one, other) => one - other);
  return {
    count: gaps.length,
    inTimeShare: gaps.filter((gap) => gap <= IN_TIME_MS).length / gaps.length,
    p95Ms: sorted[Math.floor(0.95 * (sorted.length - 1))]!,
    cpuMs: (cpuSeconds * 1000) / gaps.length,
  };
}

async function busySeconds(session: CDPSession): Promise<number> {
  const { metrics } = await session.send("Performance.getMetrics");
  return metrics.find(({ name }) => name === "TaskDuration")?.value ?? 0;
}

/** Drags to and fro over so many pixels, a tenth of it at each step. */
export function panAt(page: Page, x: number, y: number, reach: number): (step: number) => Promise<void> {
  return async (step) => {
    if (step === 0) await page.mouse.down();
    const phase = (step % 40) / 20;
    await page.mouse.move(x - reach / 2 + reach * (phase < 1 ? phase : 2 - phase), y);
  };
}

/** Turns the wheel with Ctrl held, so many steps in and as many out. */
export function zoomAt(page: Page): (step: number) => Promise<void> {
  return async (step) => {
    await page.mouse.wheel(0, step % 120 < 60 ? -6 : 6);
  };
}
