import { spawn, spawnSync } from "node:child_process";
import { resolve } from "node:path";
import { describe, expect, test } from "vitest";

const command = resolve("cli/dist/pulltest.cjs");

describe.skipIf(process.platform === "win32")("as a shell sees it", () => {
  const shell = (script: string) =>
    spawnSync("sh", ["-c", script], {
      encoding: "utf8",
      env: { ...process.env, NODE: process.execPath, COMMAND: command },
    });

  test("an interrupt ends it at once with 130", async () => {
    // Waiting for standard input that never comes.
    const child = spawn(process.execPath, [command, "rehearse", "-"], { stdio: ["pipe", "pipe", "pipe"] });
    await new Promise((done) => setTimeout(done, 300));
    child.kill("SIGINT");
    const [code, signal] = await new Promise<[number | null, string | null]>((done) =>
      child.on("close", (...ended) => done(ended)),
    );
    // A shell makes 128 + 2 of it.
    expect({ code, signal }).toEqual({ code: null, signal: "SIGINT" });
  });

  test("a reader that leaves early is no error", () => {
    const { stdout, stderr } = shell('"$NODE" "$COMMAND" schema | head -c 10');
    expect(stdout).toHaveLength(10);
    expect(stderr).toBe("");
  });

  test("a file that cannot be printed in full is printed in full through a pipe", () => {
    const { stdout } = shell('"$NODE" "$COMMAND" schema | cat');
    expect(() => JSON.parse(stdout)).not.toThrow();
  });
});
