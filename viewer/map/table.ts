/** The map as tables, made when they are opened: what each device and each cable is at the cursor. */
import { h, table } from "../dom.ts";
import type { PageContext } from "../page.ts";
import type { Said } from "./words.ts";

export interface MapTable {
  readonly element: HTMLElement;
  update(): void;
}

interface Facts {
  readonly said: ReadonlyMap<string, Said>;
  readonly devices: readonly string[];
  readonly links: readonly string[];
}

export function mapTable({ run }: PageContext, facts: () => Facts): MapTable {
  const body = h("div", {});
  const element = h("details", { class: "as-table" }, h("summary", {}, "The map as tables"), body);
  let drawn = "";
  const update = () => {
    if (!element.open) return;
    const { said, devices, links } = facts();
    const rows = (kind: string, ids: readonly string[]) => ids.flatMap((id) => said.get(`${kind} ${id}`) ?? []);
    const [ofDevices, ofLinks] = [rows("device", devices), rows("link", links)];
    const key = JSON.stringify([ofDevices, ofLinks]);
    if (key === drawn) return;
    drawn = key;
    body.replaceChildren(
      tableOf("Devices at the cursor", "Device", ofDevices, false),
      ...(run.plan.links.length === 0 ? [] : [tableOf("Cables and streams at the cursor", "Cable", ofLinks, true)]),
    );
  };
  element.addEventListener("toggle", update);
  return { element, update };
}

function tableOf(caption: string, what: string, rows: readonly Said[], areCables: boolean): HTMLElement {
  const hasChanges = rows.some(({ plan }) => plan !== "");
  return table(
    caption,
    [
      { head: what },
      { head: "Is" },
      { head: "Since" },
      { head: "Clock" },
      { head: "Next" },
      ...(areCables ? [{ head: "On site" }] : []),
      ...(hasChanges ? [{ head: "Plan" }] : []),
    ],
    rows.map(({ name, state, since, beside, clock, next, onSite, plan }) => [
      name,
      beside === "" ? state : `${state}; ${beside}`,
      since,
      clock,
      next,
      ...(areCables ? [onSite === "" ? "–" : onSite] : []),
      ...(hasChanges ? [plan === "" ? "–" : plan] : []),
    ]),
  );
}
