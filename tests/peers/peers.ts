/**
 * The election against an independent judge: several IEEE 1588 daemons (linuxptp, from Debian's package of that name),
 * each in a network namespace of its own on a bridge, and the same devices in the simulator. Who leads, before and after
 * the leader is killed, and when it is back? Run by hand: `npm run test:peers`. It needs Linux, root and a minute and a half.
 *
 * The daemons run on their own (`free_running`): no clock of this machine is touched.
 */
import type { ChildProcess } from "node:child_process";
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { readScenario } from "../../shared/scenario.ts";
import { rehearse } from "../../sim/rehearse.ts";

interface Peer {
  readonly id: string;
  readonly mac: string;
  readonly priority1: number;
  readonly clockClass: number;
  readonly followerOnly: boolean;
  /** Segments that it is on: two for a boundary device. */
  readonly on: readonly number[];
}

const peers: readonly Peer[] = [
  peer(1, { priority1: 128, clockClass: 13 }),
  peer(2, { priority1: 128 }),
  peer(3, { priority1: 110, clockClass: 187 }),
  peer(4, { followerOnly: true }),
  peer(5, { on: [0, 1] }),
  peer(6, { on: [1] }),
  peer(7, { on: [1], followerOnly: true }),
];

/** The best of all, and the best of the rest: what the simulator is asked to find out. */
const LEADS_FIRST = "peer-3";

function peer(number: number, words: Partial<Peer>): Peer {
  // From the block of addresses that anybody may use (locally administered).
  const mac = `02:00:5e:00:53:${number.toString(16).padStart(2, "0")}`;
  return { id: `peer-${number}`, mac, priority1: 128, clockClass: 248, followerOnly: false, on: [0], ...words };
}

/** EUI-64 of a MAC address: how the daemon makes its clock identity. */
function identityOf({ mac }: Peer): string {
  const bytes = mac.split(":");
  return [...bytes.slice(0, 3), "ff", "fe", ...bytes.slice(3)].join("");
}

const KILLED_AT = 20;
const BACK_AT = 40;
const END = 60;
/** Instants at which who leads is compared: the election has had its timeouts by then. */
const LOOKS = [19, 39, 59] as const;

// ---- the simulator

function simulated(): Map<number, Map<string, string>> {
  const segments = [...new Set(peers.flatMap(({ on }) => on))];
  const file = {
    format: 1,
    title: "Daemons and devices",
    run: { length: `00:01:${String(END - 60 + 5).padStart(2, "0")}`, begin: "cold" },
    rig: {
      sampleRateHz: 48_000,
      networks: [{ id: "net", profile: "default" }],
      devices: [
        ...segments.map((segment) => ({ id: `bridge-${segment}`, kind: "switch", bootSeconds: 0 })),
        ...peers.map((each) => ({
          id: each.id,
          clockSources: ["1", "internal"],
          bootSeconds: 0,
          ...(each.on.length > 1 ? { kind: "switch", bridge: { timing: "boundary" } } : {}),
          ptp: each.followerOnly
            ? { followerOnly: true, identity: identityOf(each) }
            : { priority1: each.priority1, clockClass: each.clockClass, identity: identityOf(each) },
        })),
      ],
      links: peers.flatMap(({ id, on }, index) =>
        on.map((segment, port) => ({
          id: `${id}-${segment}`,
          type: "ethernet",
          ends: [`${id}.${port + 1}`, `bridge-${segment}.${index + 1}`],
          comingUpSeconds: 0,
        })),
      ),
    },
    events: [
      { at: clock(KILLED_AT), do: "power-cut", device: LEADS_FIRST },
      { at: clock(BACK_AT), do: "power-back", device: LEADS_FIRST },
    ],
  };
  const bytes = new TextEncoder().encode(JSON.stringify(file));
  const { plan, issues } = readScenario({ file: "peers.json", bytes }, () => ({ problem: "there is none" }));
  if (plan === null) throw new Error(JSON.stringify(issues, null, 1));
  const { record } = rehearse(plan);
  const found = new Map<number, Map<string, string>>();
  for (const look of LOOKS) {
    const roles = new Map<string, Map<number | null, string>>();
    for (const { atNs, subject, fact } of record.rows) {
      if (fact.kind !== "election" || atNs > look * 1e9) continue;
      const [, id] = subject.split(" ") as [string, string];
      const ports = roles.get(id) ?? new Map<number | null, string>();
      // Whose time it has: a passive port neither gives nor takes, so there it is the device's own.
      const leader = fact.role === "down" ? "" : fact.role === "passive" ? id : (fact.leader ?? "");
      roles.set(id, ports.set(fact.port, leader));
    }
    // Whose time it is: of a boundary device, by whichever of its ports is up.
    found.set(
      look,
      new Map([...roles].map(([id, ports]) => [id, [...ports.values()].find((each) => each !== "") ?? "nobody"])),
    );
  }
  return found;
}

function clock(seconds: number): string {
  return `00:00:${String(seconds).padStart(2, "0")}`;
}

// ---- the daemons

const folder = mkdtempSync(join(tmpdir(), "pulltest-peers-"));
const running = new Map<string, ChildProcess>();

function ip(...words: string[]): void {
  execFileSync("ip", words, { stdio: ["ignore", "ignore", "pipe"] });
}

function layCables(): void {
  for (const segment of new Set(peers.flatMap(({ on }) => on))) {
    ip("link", "add", `ptb${segment}`, "type", "bridge", "forward_delay", "0");
    ip("link", "set", `ptb${segment}`, "up");
  }
  for (const { id, mac, on } of peers) {
    ip("netns", "add", `pt-${id}`);
    for (const [index, segment] of on.entries()) {
      const outside = `${id}${segment}`;
      ip("link", "add", outside, "type", "veth", "peer", "name", `eth${index}`, "netns", `pt-${id}`);
      ip("link", "set", outside, "master", `ptb${segment}`, "up");
      if (index === 0) ip("-n", `pt-${id}`, "link", "set", `eth${index}`, "address", mac);
      ip("-n", `pt-${id}`, "link", "set", `eth${index}`, "up");
    }
  }
}

function takeUpCables(): void {
  for (const child of running.values()) child.kill("SIGKILL");
  for (const { id } of peers) tried(() => ip("netns", "del", `pt-${id}`));
  for (const segment of new Set(peers.flatMap(({ on }) => on))) tried(() => ip("link", "del", `ptb${segment}`));
  rmSync(folder, { recursive: true, force: true });
}

function tried(deed: () => void): void {
  try {
    deed();
  } catch {
    // Not there: nothing to take up.
  }
}

function startDaemon(each: Peer): void {
  const config = join(folder, `${each.id}.cfg`);
  const lines = [
    "[global]",
    `priority1 ${each.priority1}`,
    `clockClass ${each.followerOnly ? 255 : each.clockClass}`,
    `slaveOnly ${each.followerOnly ? 1 : 0}`,
    "free_running 1",
    "time_stamping software",
    "network_transport L2",
    "tx_timestamp_timeout 50",
    `uds_address ${join(folder, `${each.id}.uds`)}`,
    ...each.on.map((_, index) => `[eth${index}]`),
  ];
  writeFileSync(config, `${lines.join("\n")}\n`);
  const child = spawn("ip", ["netns", "exec", `pt-${each.id}`, "ptp4l", "-f", config, "-m"], { stdio: "ignore" });
  running.set(each.id, child);
}

/** Whose time each daemon has. */
function asked(): Map<string, string> {
  const byIdentity = new Map(peers.map((each) => [identityOf(each), each.id]));
  return new Map(
    [...running.keys()].map((id) => {
      const socket = join(folder, `${id}.uds`);
      const answer = execFileSync(
        "pmc",
        ["-u", "-b", "0", "-s", socket, "-i", join(folder, "ask"), "GET PARENT_DATA_SET"],
        {
          encoding: "utf8",
          timeout: 5000,
        },
      );
      const [, identity = ""] = /grandmasterIdentity\s+(\S+)/.exec(answer) ?? [];
      return [id, byIdentity.get(identity.replaceAll(".", "")) ?? `somebody unknown (${identity})`];
    }),
  );
}

function whyNot(): string | null {
  if (process.platform !== "linux") return "it needs Linux's network namespaces";
  if (process.getuid?.() !== 0) return "it needs root, to make network namespaces";
  for (const [tool, words, from] of [
    ["ip", ["-V"], "iproute2"],
    ["ptp4l", ["-v"], "linuxptp"],
  ] as const) {
    try {
      execFileSync(tool, words, { stdio: "ignore" });
    } catch {
      return `it needs ${tool}: apt-get install ${from}`;
    }
  }
  return null;
}

async function compare(): Promise<boolean> {
  const expected = simulated();
  let agrees = true;
  layCables();
  const began = performance.now();
  const until = (seconds: number): Promise<void> => wait(Math.max(0, seconds * 1000 - (performance.now() - began)));
  for (const each of peers) startDaemon(each);
  for (const [index, look] of LOOKS.entries()) {
    await until(look);
    const found = asked();
    for (const [id, leader] of found) {
      const by = expected.get(look)?.get(id) ?? "nobody";
      if (by !== leader) agrees = false;
      console.log(`${look} s  ${id}: ${leader} leads, simulated: ${by}${by === leader ? "" : "  <- differs"}`);
    }
    if (index === 0) {
      await until(KILLED_AT);
      running.get(LEADS_FIRST)?.kill("SIGKILL");
      running.delete(LEADS_FIRST);
    } else if (index === 1) {
      await until(BACK_AT);
      startDaemon(peers.find(({ id }) => id === LEADS_FIRST) as Peer);
    }
  }
  return agrees;
}

const reason = whyNot();
if (reason !== null) {
  console.log(`Skipped: ${reason}.`);
} else {
  try {
    const agrees = await compare();
    console.log(agrees ? "All agree." : "They do not agree.");
    process.exitCode = agrees ? 0 : 1;
  } finally {
    takeUpCables();
  }
}
