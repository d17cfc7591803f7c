/** What sample-rate converters kept from being heard, in words: one line for each cable that one of them heard. */
import type { ConverterSummary } from "../../shared/summary.ts";
import { deviceById, linkById } from "../by-id.ts";
import type { Told } from "./picture.ts";
import { deviceHead, duration, kilohertz, ppm, rhythm, theDevice } from "./words.ts";

export function conversionLines(told: Told): string[] {
  return told.summary.converters.flatMap((conversion) =>
    conversion.convertsSeconds === 0 ? [] : [conversionLine(told, conversion)],
  );
}

/** "FOH desk, port 7: a sample-rate converter hides that the opener's desk and the FOH desk are on different clocks …" */
function conversionLine({ plan }: Told, conversion: ConverterSummary): string {
  const [to, from] = [deviceById(plan, conversion.device), deviceById(plan, conversion.from)];
  if (to === undefined || from === undefined) return "";
  const head = `${deviceHead(to)}, port ${conversion.port}: a sample-rate converter`;
  const delay = `it delays the sound by ${duration(conversion.delaySeconds)}`;
  const { aheadPpm, apartSeconds, convertsSeconds, fromRateHz, rateHz } = conversion;
  const rates = `${kilohertz(fromRateHz)} into ${kilohertz(rateHz)}`;
  if (aheadPpm === null) {
    const why = fromRateHz === rateHz ? "It is not needed" : `It turns ${rates}`;
    return `${head} takes ${theDevice(from)}, and both are on one clock all the while. ${why}; ${delay}, and would hide it if one of them left that clock.`;
  }
  const hides = `${head} hides that ${theDevice(from)} and ${theDevice(to)} are on different clocks, ${ppm(aheadPpm)} apart.`;
  // What is missing of less than this is a moment at the edge.
  const isPartly = apartSeconds < 0.99 * convertsSeconds;
  const slips = linkById(plan, conversion.link)?.buffer.slipSamples ?? 1;
  const without =
    fromRateHz === rateHz
      ? `Without it there would be a click ${rhythm(slips / (rateHz * Math.abs(aheadPpm) * 1e-6))}`
      : `Without it nothing would come through, for it turns ${rates}`;
  return `${hides}${isPartly ? ` They are so for ${duration(apartSeconds)}.` : ""} ${without}; ${delay}.`;
}
