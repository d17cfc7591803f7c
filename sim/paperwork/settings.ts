/** What is set at each device, in the order in which one walks by, with what it should show then. */
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import { linkOf } from "../by-id.ts";
import { INTERNAL } from "../choice.ts";
import { portClock } from "../clock-graph.ts";
import { isPlainSwitch } from "../network/outcome.ts";
import { LAMPS, outputWords, readsWords } from "../tell/should-see.ts";
import { deviceHead, duration, inSentence, kilohertz, listed, path, source, theDevice } from "../tell/words.ts";
import type { Sight } from "./rehearsed.ts";
import { row, type Sheet, type SheetColumn, type SheetSection } from "./sheet.ts";
import { type Stop, walkOf } from "./walk.ts";
import { afterWords, assumedMark, endWords, KIND_WORDS, sourcesInOrder } from "./words.ts";

const COLUMNS: readonly SheetColumn[] = [
  { head: "Device", as: "name" },
  { head: "Set", as: "text" },
  { head: "Ports", as: "text" },
  { head: "What you should see", as: "text" },
  { head: "Done", as: "tick" },
  { head: "Seen, by whom", as: "write" },
];

/** @param rest how all devices stand when nothing has failed */
export function settingsSheet(plan: Plan, rest: ReadonlyMap<string, Sight>): Sheet {
  return {
    name: "settings",
    title: "Settings, in walking order",
    lead: [
      "Set each device, then look at both ends of each cable: a lit lock lamp does not say to whom a device is locked.",
    ],
    columns: COLUMNS,
    sections: walkOf(plan).map(
      (stop, place): SheetSection => ({
        title: stopTitle(plan, stop, place),
        rows: stop.devices.map((device) =>
          row(COLUMNS, [
            headWords(device),
            settingWords(plan, device).join("\n"),
            portLines(plan, device).join("\n"),
            seenWords(plan, device, rest.get(device.id)),
          ]),
        ),
      }),
    ),
    after: [
      "What is marked as assumed nobody has entered: read it off the device, and write it into the plan.",
      "Which devices stand beside each other is read from cables of 10 m or less: common practice, no source.",
    ],
  };
}

/** "2. Stage box: over cable foh-stage, 90 m along the quay wall" */
export function stopTitle(plan: Plan, { devices, by }: Stop, place: number): string {
  const [first] = devices;
  const head = `${place + 1}. Around ${first === undefined ? "" : theDevice(first)}`;
  if (by === null) return head;
  const link = linkOf(plan, by.id);
  const along = link.laidAlong.length === 0 ? "" : `, along ${listed(link.laidAlong.map(path))}`;
  return `${head}: ${Math.round(link.lengthMetres)} m of cable ${by.id}${along}`;
}

function headWords(device: DevicePlan): string {
  const kind = KIND_WORDS[device.kind];
  const own = device.power.length === 0 || device.power.every((supply) => supply === device.id);
  const power = own ? "" : `\nsupply ${listed(device.power)}`;
  return `${deviceHead(device)}\n${device.id}, ${kind}${power}`;
}

function settingWords(plan: Plan, device: DevicePlan): string[] {
  const { clockSources, revertive, waitToRestoreSeconds, holdOffSeconds, ptp } = device;
  if (isPlainSwitch(plan, device)) return ["No clock of its own."];
  const unsure = (...names: readonly string[]) => assumedMark(plan, device.id, ...names);
  return [
    `${kilohertz(device.sampleRateHz)}`,
    ...clockSources.map((entry, place) => `Clock source ${place + 1}: ${source(entry)}`),
    ...(clockSources.length > 1
      ? [
          revertive
            ? `Goes back by itself, ${afterWords(waitToRestoreSeconds)}${unsure("revertive", "waitToRestoreSeconds")}`
            : `Stays until told${unsure("revertive")}`,
        ]
      : []),
    // With one source, or its own clock before all others, there is nothing to wait for.
    ...(clockSources.length > 1 && clockSources[0] !== INTERNAL && holdOffSeconds > 0
      ? [`Waits ${duration(holdOffSeconds)} before it believes a loss${unsure("holdOffSeconds")}`]
      : []),
    ...(ptp === undefined
      ? []
      : [ptp.followerOnly ? "Never leads a network" : `Priority 1: ${ptp.priority1}, priority 2: ${ptp.priority2}`]),
    ...(device.afterReboot === undefined
      ? []
      : [`Comes back from a reboot with ${sourcesInOrder(device.afterReboot.clockSources)}: set it again`]),
  ];
}

function portLines(plan: Plan, device: DevicePlan): string[] {
  return plan.links
    .filter(({ stream }) => stream === undefined)
    .flatMap((link) => [
      ...(link.a.device === device.id ? [{ link, own: link.a, far: link.b }] : []),
      ...(link.b.device === device.id ? [{ link, own: link.b, far: link.a }] : []),
    ])
    .sort((one, other) => one.own.port - other.own.port)
    .map(({ link, own, far }) => {
      const clock = link.clockIsAgreed ? `, ${portClock(device, own.port) === "give" ? "gives" : "takes"} clock` : "";
      return `${own.port}: ${link.id} to ${inSentence(endWords(plan, far))}${clock}`;
    });
}

function seenWords(plan: Plan, device: DevicePlan, sight: Sight | undefined): string {
  if (sight === undefined || sight.key === "off") return "Off at this moment of the show.";
  const { clockSources } = device;
  const reads = isPlainSwitch(plan, device)
    ? []
    : [readsWords(plan, device, sight.key, { ...sight, clockSources }, (name) => name)];
  const onFeed = plan.feeds.some(({ through }) => through.includes(device.id));
  return [...reads, LAMPS[sight.key], ...(onFeed ? [outputWords(device, sight.key)] : [])].join("\n");
}
