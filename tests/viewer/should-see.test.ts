/** What somebody in front of a device should see, from real runs, without a page. */
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { describe, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { lanesOf } from "../../sim/lanes/lane.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { isTold } from "../../sim/tell/event-words.ts";
import { tell } from "../../sim/tell.ts";
import { createMoments } from "../../viewer/map/moments.ts";
import { inPageOrder } from "../../viewer/order.ts";
import type { Run } from "../../viewer/run.ts";
import { shouldSee } from "../../viewer/should-see.ts";
import { SHIPPED } from "../helpers/shipped.ts";

function played(file: string) {
  const load = (name: string) => ({ bytes: readFileSync(join(dirname(file), name)) });
  const { plan } = readScenario({ file, bytes: readFileSync(file) }, load);
  if (plan === null) throw new Error(`${file} cannot be read`);
  const made = rehearse(plan);
  const run: Run = inPageOrder({ format: 1, ...made, telling: tell(made) });
  const lanes = lanesOf(run);
  const see = shouldSee(run, lanes, createMoments(lanes.all));
  const device = (id: string) => run.plan.devices.find((each) => each.id === id)!;
  const seen = (id: string, seconds: number) => {
    const { state, ...words } = see.at(device(id), seconds)!;
    return [state.says, ...Object.values(words)].join(" ").replaceAll(/[\u2068\u2069]/g, "");
  };
  return { run, see, device, seen, lanes };
}

describe("the leader reboots", () => {
  const { see, device, seen } = played("scenarios/leader-reboot.json");

  test("each state says what its lamp may do, what is read, what comes out, what to do", () => {
    expect(seen("foh", 1199)).toMatch(/^Leading .*may be dark or lit.*clock source internal; 48 kHz.*Leave it/);
    expect(seen("foh", 1210)).toMatch(
      /^Booting .*Reads nothing\. It mutes its outputs itself; they open right after that, at full level, with no fade\. .*it takes 1 min 15 s\./,
    );
    expect(seen("stage", 1199)).toMatch(/^Locked to port 1, .*clock source port 1 \(FOH desk\); 48 kHz\..*Nothing\.$/);
    expect(seen("stage", 1230)).toMatch(/later source.*clock source port 2 \(Monitor desk\).*its first source is gone/);
  });

  test("ports stand in their order, each with its cable, the other end and its state", () => {
    const ports = see.ports(device("stage"), 1205).map((text) => text.replaceAll(/[\u2068\u2069]/g, ""));
    expect(ports.map((text) => text.split(":")[0])).toEqual([
      "Port 1, cable foh-stage, FOH desk",
      "Port 2, cable mon-stage, Monitor desk",
      "Port 3, cable stage-truck, Broadcast truck",
    ]);
    expect(ports[0]).toContain("Down");
  });

  test("the sheet begins with the show, tells the event, then what the device does by itself until the next", () => {
    const lines = see.sheet(device("foh"));
    expect(lines[0]).toMatchObject({ atSeconds: 0, event: "", seen: { state: { key: "device-leading" } } });
    expect(lines[1]).toMatchObject({
      atSeconds: 1200,
      event: "FOH desk reboots.",
      seen: { state: { key: "device-starting" } },
    });
    // Until somebody follows it again it does not lead.
    expect(lines.slice(2).map(({ event, seen }) => `${event}${seen?.state.key}`)).toEqual([
      "device-free-run",
      "device-leading",
    ]);
    expect(lines[2]?.atSeconds).toBe(1275);
    expect(lines[2]?.seen?.todo).toMatch(/It is meant to lead/);
  });
});

test("a lamp that is lit on a device's own clock is not believed, and the way out is told", () => {
  const { run, see, device } = played("scenarios/own-clock.json");
  const seen = run.plan.devices.flatMap(({ id }) => {
    const found = see.at(device(id), run.summary.runSeconds / 2)!;
    return found.state.key === "device-free-run" ? [found] : [];
  });
  expect(seen.length).toBeGreaterThan(0);
  for (const { lamp, reads, todo } of seen) {
    expect(lamp).toBe("Its lock lamp may be lit all the same: to its own clock.");
    expect(reads).toContain("clock source internal");
    expect(todo).toMatch(/ears out, outputs down/i);
  }
});

test("over all shipped scenarios each sheet has every event, and every line says all that it should", () => {
  const files = SHIPPED;
  const met = new Set<string>();
  let [unmoved, cut] = [0, 0];
  for (const name of files) {
    const { run, see } = played(`scenarios/${name}`);
    const instants = new Set(run.plan.events.filter(isTold).map(({ atNs }) => secondsFromNs(atNs)));
    for (const device of run.plan.devices) {
      const lines = see.sheet(device);
      expect(new Set(lines.filter(({ event }) => event !== "").map(({ atSeconds }) => atSeconds))).toEqual(instants);
      expect(lines.map(({ atSeconds }) => atSeconds)).toEqual(
        lines.map(({ atSeconds }) => atSeconds).sort((one, other) => one - other),
      );
      for (const { seen, more } of lines) {
        cut += more;
        if (seen === null) {
          unmoved += 1;
          continue;
        }
        met.add(seen.state.key);
        expect(seen.lamp).toMatch(/\.$/);
        expect(seen.todo).toMatch(/\.$/);
        const words = [seen.lamp, seen.reads, seen.outputs, seen.beside, seen.todo].join(" ");
        expect(words).not.toMatch(/\b(pass|safe|good|all well|ok)\b|!|undefined|NaN/i);
        // A lamp may do this or that; it never does it for sure. Without power it does nothing.
        if (seen.state.key !== "device-off") expect(seen.lamp).toMatch(/\bmay\b/);
      }
    }
  }
  expect([...met].sort()).toEqual(
    ["acquiring", "free-run", "holdover", "leading", "locked", "locked-later", "off", "starting", "works"].map(
      (key) => `device-${key}`,
    ),
  );
  expect(unmoved).toBeGreaterThan(50);
  expect(cut).toBeGreaterThan(0);
}, 60_000);
