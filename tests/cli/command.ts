/** The built command, as a shell would run it. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll } from "vitest";

const COMMAND = resolve("cli/dist/pulltest.cjs");

export interface Outcome {
  readonly status: number | null;
  readonly out: string;
  readonly err: string;
}

export interface Surroundings {
  readonly input?: string | Uint8Array;
  readonly cwd?: string;
  readonly env?: Readonly<Record<string, string>>;
  /** Another copy of the command. */
  readonly command?: string;
}

/** Without a terminal, and without what the surrounding shell thinks of colour. */
export function pulltest(args: readonly string[], { input, cwd, env, command }: Surroundings = {}): Outcome {
  const { NO_COLOR: _no, FORCE_COLOR: _force, PULLTEST_DEBUG: _debug, ...clean } = process.env;
  const { status, stdout, stderr, error } = spawnSync(process.execPath, [command ?? COMMAND, ...args], {
    input: input ?? "",
    cwd: cwd ?? process.cwd(),
    env: { ...clean, ...env },
    encoding: "utf8",
    timeout: 60_000,
    maxBuffer: 64 * 1024 * 1024,
  });
  if (error) throw error;
  return { status, out: stdout, err: stderr };
}

/** A folder for this test file, gone afterwards. */
export function scratchFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), "pulltest-cli-"));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** A small rig that plays at once; change it and write it out. */
export function smallRig() {
  return {
    format: 1,
    title: "Two desks",
    run: { length: "00:10:00", seed: "quay-1" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh"],
      devices: [
        { id: "foh", name: "FOH desk", kind: "desk", clockSources: ["internal"], oscillator: { offsetPpm: 4.2 } },
        { id: "mon", name: "Monitor desk", kind: "desk", clockSources: ["1"], oscillator: { offsetPpm: 1.8 } },
      ],
      links: [
        {
          id: "main",
          type: "madi",
          from: "foh.1",
          to: "mon.1",
          return: true,
          lengthMetres: 50,
          laidAlong: ["quay wall"],
        },
      ],
      feeds: [{ id: "mix", name: "In-ear mix", through: ["foh", "mon"], channels: 8, heardBy: ["in-ears"] }],
    },
    events: [] as Record<string, unknown>[],
    expect: [] as Record<string, unknown>[],
  };
}
