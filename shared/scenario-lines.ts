/** T-ed word-clock lines: one cable of the file, read into a link for each of its taps. */
import { quote } from "./issues.ts";
import type { LinkPlan, PortRef } from "./plan.ts";
import type { Place, Report } from "./scenario-draft.ts";

interface LineWords {
  readonly item: Place;
  /** What stands in the file: a list where the cable is a line. */
  readonly to: string | readonly string[];
  readonly terminatedAt: readonly string[] | undefined;
  readonly return: boolean;
}

/**
 * The links of a cable: itself, or one per tap. How far apart the taps are no file says: evenly, the last at the end of
 * the cable (assumed). `cable`: to the first receiver, as long as the whole line.
 */
export function tapsOf(
  { item, to, terminatedAt, return: hasReturn }: LineWords,
  cable: LinkPlan,
  receivers: readonly PortRef[],
  report: Report,
): readonly LinkPlan[] {
  if (typeof to === "string") {
    if (terminatedAt !== undefined)
      report(item, ["terminatedAt"], {
        expected: "nothing: only a line with several receivers has terminators to count",
        remedy: 'take it away, or write "to" as a list',
      });
    return [cable];
  }
  if (hasReturn)
    report(item, ["return"], {
      expected: "false: a line with several receivers has one sender",
      remedy: "take it away, or write a link of its own",
    });
  (terminatedAt ?? []).forEach((end, index) => {
    if (!to.includes(end))
      report(item, ["terminatedAt", index], {
        expected: `one of the receivers of the line, ${to.map(quote).join(", ")}`,
        remedy: "name the receiver, with its port, at which the terminator is",
      });
    else if ((terminatedAt ?? []).indexOf(end) < index)
      report(item, ["terminatedAt", index], {
        expected: "each receiver once",
        received: `${quote(end)} again`,
        remedy: "keep the first",
      });
  });
  const taps = receivers.map(({ device }) => device);
  taps.forEach((device, index) => {
    if (taps.indexOf(device) < index)
      report(item, ["to", index], {
        expected: `each device once on a line`,
        received: `${quote(device)} again`,
        remedy: "keep one of them, or write a lead of its own",
      });
  });
  const line = {
    id: cable.id,
    taps,
    terminatedAt: taps.filter((_, index) => terminatedAt?.includes(to[index] as string)),
  };
  return receivers.map((b, index) => {
    const share = (index + 1) / receivers.length;
    const id = index === 0 ? cable.id : `${cable.id}:${b.device}`;
    const delaySeconds = cable.delaySeconds * share;
    return { ...cable, id, b, lengthMetres: cable.lengthMetres * share, delaySeconds, line };
  });
}
