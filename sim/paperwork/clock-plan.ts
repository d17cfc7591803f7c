/** Who leads, whom each device follows, and what it takes next: the plan as set, before anything fails. */
import type { Plan } from "../../shared/plan.ts";
import { deviceById } from "../by-id.ts";
import { type Choice, clockGraph, meantToLead, rigParts } from "../clock-graph.ts";
import { isPlainSwitch } from "../network/outcome.ts";
import { capital, counted, deviceHead, duration, kilohertz, listed, source } from "../tell/words.ts";
import { row, type Sheet, type SheetColumn } from "./sheet.ts";
import { walkedDevices } from "./walk.ts";
import { afterWords } from "./words.ts";

const COLUMNS: readonly SheetColumn[] = [
  { head: "Device", as: "name" },
  { head: "Takes its clock from", as: "text" },
  { head: "Then from", as: "text" },
  { head: "When its source comes back", as: "text" },
  { head: "Seen", as: "tick" },
];

export function clockPlan(plan: Plan): Sheet {
  const graph = clockGraph(plan);
  const leads = rigParts(plan).flatMap((part) => meantToLead(plan, part) ?? []);
  const devices = walkedDevices(plan).filter((device) => !isPlainSwitch(plan, device));
  const rows = devices.map((device) => {
    const [first, ...others] = graph.choices(device.id);
    const isLeader = leads.includes(device.id);
    const from = isLeader ? "Leads" : first === undefined ? "Nothing is set" : choiceWords(plan, first);
    const then =
      isLeader || first?.heard.kind === "own"
        ? ""
        : others.length === 0
          ? afterwards(device.holdoverSeconds)
          : others.map((each) => choiceWords(plan, each)).join("\n");
    const back =
      device.clockSources.length < 2
        ? ""
        : device.revertive
          ? `Goes back by itself, ${afterWords(device.waitToRestoreSeconds)}`
          : "Stays until told";
    return row(COLUMNS, [deviceHead(device), from, then, back]);
  });
  const named = devices.filter(({ id }) => leads.includes(id));
  const next = plan.leaders.slice(1).flatMap((id) => deviceById(plan, id) ?? []);
  const lead = [
    named.length === 0
      ? "Nobody is meant to lead by this plan."
      : `${listed(named.map(deviceHead))} ${named.length === 1 ? "leads" : "lead"} at ${kilohertz(plan.sampleRateHz)}.${next.length === 0 ? "" : ` Next in line: ${listed(next.map(deviceHead), "then")}.`}`,
    `${capital(counted(devices.length, "device has", "devices have"))} a clock. An arrow shows which way the clock goes over a cable; a thin line is a spare.`,
  ];
  return {
    name: "clock-plan",
    title: "Clock plan",
    lead,
    columns: COLUMNS,
    sections: [{ title: null, rows }],
    after: [],
  };
}

function choiceWords(plan: Plan, { source: entry, heard }: Choice): string {
  if (heard.kind === "own") return "Its own clock";
  if (heard.kind === "nothing")
    return `${source(entry)[0]?.toUpperCase()}${source(entry).slice(1)}: nothing arrives there`;
  const from = deviceById(plan, heard.device);
  const network = plan.networks?.find(({ id }) => id === heard.network);
  const over = network === undefined ? `cable ${heard.link}` : network.name;
  return `${from === undefined ? heard.device : deviceHead(from)}\nport ${entry}, ${over}`;
}

function afterwards(holdoverSeconds: number): string {
  return holdoverSeconds > 0 ? `Coasts ${duration(holdoverSeconds)}, then its own clock` : "Its own clock, at once";
}
