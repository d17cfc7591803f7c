/**
 * Writes `show.json`: the one show that every figure of the bench is quoted on. A big night at Lantern Quay, 40
 * devices, 120 links with both ways (240 receivers), three hours, 40 faults.
 *
 * `npm run bench -- --make-show` and `npm run format` write it again. Everything is drawn from one seed, so the file
 * never changes unless this one does.
 */

import { stream } from "../../shared/random.ts";
import type {
  DeviceFile,
  EventFile,
  FeedFile,
  LinkFile,
  ScenarioFile,
  SpareFile,
} from "../../shared/scenario-schema.ts";

const SHOW_SECONDS = 3 * 3600;
const SEED = "quay-bench";

/** A draw in [low, high), to three decimals, so that the file stays readable. */
type Draw = (low: number, high: number) => number;

function makeDraw(purpose: string): Draw {
  const next = stream(SEED, "show", purpose, 0);
  return (low, high) => Math.round((low + (high - low) * next()) * 1000) / 1000;
}

const count = (prefix: string, howMany: number): string[] =>
  Array.from({ length: howMany }, (_, i) => `${prefix}-${i + 1}`);

const STAGE = count("stage", 12);
const PA = count("pa", 8);
const EARS = count("ears", 4);
const CONVERTERS = count("split", 4);
const COMMS = count("comms", 2);

/** The show as a scenario, with its faults or without. */
export function makeShow(withFaults = true): ScenarioFile {
  const links = makeLinks();
  return {
    $schema: "../../scenarios/scenario.schema.json",
    format: 1,
    title: "A big night at Lantern Quay",
    story:
      "The musical, a choir on loan, a broadcast and a cinema next door: 40 devices on 120 links for three hours, and a crew that pulls a cable, reboots a desk or loses a supply every four minutes. The figures of the bench are taken on this show.",
    run: { length: "03:00:00", seed: SEED },
    rig: {
      sampleRateHz: 48_000,
      leaders: ["foh", "mon"],
      devices: makeDevices(),
      links,
      spares: makeSpares(),
      feeds: makeFeeds(),
    },
    events: withFaults ? makeEvents(links) : [],
  };
}

function makeDevices(): DeviceFile[] {
  const draw = makeDraw("offsets");
  const crystal = () => ({ type: "crystal" as const, offsetPpm: draw(-15, 15) });
  // By port: 1 is the first choice, 2 the next. Who runs on "internal" among the followers was forgotten there.
  return [
    { id: "foh", name: "FOH desk", kind: "desk", clockSources: ["internal"], oscillator: crystal(), bootSeconds: 75 },
    {
      id: "mon",
      name: "Monitor desk",
      kind: "desk",
      clockSources: ["1", "2", "internal"],
      oscillator: crystal(),
      bootSeconds: 75,
    },
    {
      id: "guest",
      name: "Guest desk",
      kind: "desk",
      clockSources: ["internal"],
      oscillator: crystal(),
      bootSeconds: 90,
    },
    {
      id: "truck",
      name: "Broadcast truck",
      kind: "truck",
      clockSources: ["internal"],
      oscillator: { type: "tcxo", offsetPpm: 0.3 },
    },
    ...STAGE.map(
      (id, i): DeviceFile => ({
        id,
        kind: "stage-box",
        clockSources: ["1", "2", "3"],
        oscillator: crystal(),
        bootSeconds: 30,
        power: [`dimmer-city-${(i >> 2) + 1}`],
      }),
    ),
    // Two rows of four, each on the clock of its neighbour: what the desk does goes through all of them.
    ...PA.map(
      (id, i): DeviceFile => ({
        id,
        kind: "processor",
        clockSources: i % 4 === 0 ? ["1"] : ["2", "1"],
        oscillator: crystal(),
        bootSeconds: 20,
        loop: { naturalFrequencyHz: 2, damping: 0.8 },
      }),
    ),
    ...EARS.map((id): DeviceFile => ({ id, kind: "transmitter", clockSources: ["1", "2"], oscillator: crystal() })),
    ...CONVERTERS.map(
      (id): DeviceFile => ({
        id,
        kind: "converter",
        clockSources: ["1", "2"],
        oscillator: crystal(),
        holdoverSeconds: 20,
      }),
    ),
    ...COMMS.map((id): DeviceFile => ({ id, kind: "other", clockSources: ["1", "2"], oscillator: crystal() })),
    { id: "rec-1", kind: "recorder", clockSources: ["1", "2"], oscillator: crystal() },
    { id: "rec-2", kind: "recorder", clockSources: ["1"], oscillator: crystal() },
    { id: "rec-3", kind: "recorder", clockSources: ["internal"], oscillator: crystal() },
    { id: "lobby", name: "Lobby processor", kind: "processor", clockSources: ["internal"], oscillator: crystal() },
    {
      id: "stream",
      name: "Stream encoder",
      kind: "other",
      clockSources: ["1"],
      oscillator: crystal(),
      loop: { naturalFrequencyHz: 0.2, damping: 1 },
    },
    { id: "cinema", name: "Cinema next door", kind: "processor", clockSources: ["1", "2"], oscillator: crystal() },
  ];
}

/** Numbers the ports of every device in the order in which cables are laid. */
function makeLinks(): LinkFile[] {
  const draw = makeDraw("lengths");
  const nextPort = new Map<string, number>();
  const links: LinkFile[] = [];
  const port = (device: string): string => {
    const number = (nextPort.get(device) ?? 0) + 1;
    nextPort.set(device, number);
    return `${device}.${number}`;
  };
  const lay = (
    type: "madi" | "aes3" | "aes50",
    from: string,
    to: string,
    laidAlong: string,
    farMetres: number,
  ): void => {
    const lengthMetres = Math.round(draw(0.3 * farMetres, farMetres));
    const id = `${from}-${to}${links.some((link) => link.id === `${from}-${to}`) ? "-spare" : ""}`;
    const common = { id, lengthMetres, laidAlong: [laidAlong] };
    if (type === "aes50") links.push({ ...common, type, ends: [port(from), port(to)] });
    else links.push({ ...common, type, from: port(from), to: port(to), return: true });
  };
  lay("madi", "mon", "foh", "pier railing", 90);
  lay("madi", "mon", "foh", "quay wall", 95);
  for (const id of STAGE) lay("madi", id, "foh", "pier railing", 95);
  for (const id of STAGE) lay("madi", id, "foh", "quay wall", 95);
  for (const id of STAGE) lay("aes50", id, "mon", "stage-left wing", 40);
  for (const id of PA) lay("aes3", id, "foh", "pier railing", 80);
  for (const [i, id] of PA.entries()) if (i > 0) lay("aes3", id, PA[i - 1] as string, "roof truss", 20);
  for (const id of EARS) lay("madi", id, "mon", "stage-left wing", 10);
  for (const id of EARS) lay("madi", id, "foh", "pier railing", 95);
  for (const [i, id] of CONVERTERS.entries()) {
    lay("madi", id, STAGE[3 * i] as string, "stage-right wing", 15);
    lay("madi", id, STAGE[3 * i + 1] as string, "stage-right wing", 15);
  }
  for (const id of COMMS) for (const to of ["foh", "mon"]) lay("aes3", id, to, "pier railing", 90);
  for (const id of ["rec-1", "rec-2", "rec-3"]) for (const to of ["foh", "mon"]) lay("madi", id, to, "quay wall", 60);
  for (const id of STAGE) lay("madi", "truck", id, "loading ramp", 95);
  for (const id of ["foh", "mon", "split-1"]) lay("madi", "truck", id, "loading ramp", 95);
  for (const id of ["foh", "mon", "rec-1", "pa-1", ...STAGE.slice(0, 4)]) lay("madi", "guest", id, "quay wall", 80);
  for (const [i, id] of STAGE.entries())
    lay("madi", id, STAGE[(i + 1) % STAGE.length] as string, "stage-right wing", 20);
  for (const id of ["stream", "cinema"]) for (const to of ["truck", "foh"]) lay("aes3", id, to, "loading ramp", 80);
  for (const to of ["pa-8", "foh"]) lay("aes3", "lobby", to, "roof truss", 70);
  return links;
}

function makeSpares(): SpareFile[] {
  return ["mon", ...STAGE].map((id) => ({
    id: `${id}-pair`,
    links: [`${id}-foh`, `${id}-foh-spare`],
    mode: "standby",
  }));
}

function makeFeeds(): FeedFile[] {
  return [
    { id: "pa-near", name: "PA, near", through: ["stage-1", "foh", "pa-1"], channels: [32, 2], heardBy: ["pa"] },
    { id: "pa-far", name: "PA, far", through: ["stage-5", "foh", "pa-8"], channels: [32, 2], heardBy: ["pa"] },
    {
      id: "ears",
      name: "In-ear mixes",
      through: ["stage-2", "mon", "ears-1"],
      channels: [32, 16],
      heardBy: ["in-ears"],
    },
    { id: "multitrack", name: "Multitrack", through: ["stage-3", "foh", "rec-1"], channels: 16, heardBy: ["record"] },
    { id: "broadcast", name: "Broadcast split", through: ["stage-9", "truck"], channels: 32, heardBy: ["broadcast"] },
    { id: "web", name: "Web stream", through: ["stage-9", "truck", "stream"], channels: [32, 2], heardBy: ["stream"] },
  ];
}

function makeEvents(links: readonly LinkFile[]): EventFile[] {
  const draw = makeDraw("faults");
  const pick = <Each>(from: readonly Each[]): Each => from[Math.floor(draw(0, from.length))] as Each;
  const deeds: ((at: string) => EventFile)[] = [
    ...["foh", "mon", "guest", "truck", "stage-3", "stage-8", "pa-1", "split-2"].map(
      (device) =>
        (at: string): EventFile => ({ at, do: "reboot", device }),
    ),
    ...["dimmer-city-1", "dimmer-city-3"].map(
      (supply) =>
        (at: string): EventFile => ({ at, do: "power-cut", supply, forSeconds: Math.round(draw(5, 120)) }),
    ),
    ...["pa-2", "ears-3", "rec-1", "comms-1"].map(
      (device) =>
        (at: string): EventFile => ({ at, do: "power-cut", device, forSeconds: Math.round(draw(5, 120)) }),
    ),
    ...["pier railing", "stage-left wing", "roof truss", "stage-right wing"].map(
      (path) =>
        (at: string): EventFile => ({ at, do: "cut", path, forSeconds: Math.round(draw(10, 90)) }),
    ),
  ];
  while (deeds.length < 40) {
    deeds.push((at) => ({ at, do: "unplug", link: pick(links).id, forSeconds: draw(0.5, 120) }));
  }
  // Shuffled, then one in each fortieth of the show, early enough for what comes back to be back.
  for (let i = deeds.length - 1; i > 0; i--) {
    const j = Math.floor(draw(0, i + 1));
    [deeds[i], deeds[j]] = [deeds[j] as (typeof deeds)[number], deeds[i] as (typeof deeds)[number]];
  }
  const slot = (SHOW_SECONDS - 600) / deeds.length;
  return deeds.map((deed, i) => deed(showTime(60 + slot * i + draw(0, 0.5 * slot))));
}

function showTime(seconds: number): string {
  const two = (whole: number): string => String(whole).padStart(2, "0");
  const ms = Math.round(seconds * 1000);
  return `${two(Math.floor(ms / 3_600_000))}:${two(Math.floor(ms / 60_000) % 60)}:${two(Math.floor(ms / 1000) % 60)}.${String(ms % 1000).padStart(3, "0")}`;
}
