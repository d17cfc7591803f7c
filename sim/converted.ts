/** Where a plan has sample-rate converters: at which end of which way of a link. */
import type { ConverterPlan, DevicePlan, LinkPlan, Plan, PortRef } from "../shared/plan.ts";

/** One way of a link that carries audio, and the converter at its end. */
export interface ConvertedWay {
  readonly link: LinkPlan;
  readonly way: "there" | "back";
  readonly from: PortRef;
  readonly to: PortRef;
  readonly converter: ConverterPlan;
}

export function converterAt(device: DevicePlan | undefined, port: number | string): ConverterPlan | null {
  return device?.converters?.[String(port)] ?? null;
}

/** The ways of a link, each with its two ends. */
export function waysOf(
  link: LinkPlan,
): readonly { readonly way: "there" | "back"; readonly from: PortRef; readonly to: PortRef }[] {
  const there = { way: "there" as const, from: link.a, to: link.b };
  return link.twoWay || link.hasReturn ? [there, { way: "back", from: link.b, to: link.a }] : [there];
}

/** Every converter that a cable ends at, by the plan; in the order of its links. */
export function convertedWays({ devices, links }: Plan): readonly ConvertedWay[] {
  const byId = new Map(devices.map((device) => [device.id, device]));
  return links.flatMap((link) =>
    link.channels === 0
      ? []
      : waysOf(link).flatMap(({ way, from, to }): ConvertedWay[] => {
          const converter = converterAt(byId.get(to.device), to.port);
          return converter === null ? [] : [{ link, way, from, to, converter }];
        }),
  );
}

/** Two devices set to these sample rates are within what a converter bridges. */
export function bridges({ ratioMax }: ConverterPlan, oneHz: number, otherHz: number): boolean {
  return oneHz / otherHz <= ratioMax && otherHz / oneHz <= ratioMax;
}
