// `npm start`: the rehearsal to begin with, on a machine that has nothing but Node and npm.
import { spawnSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { command, root, setUp } from "./setup.mjs";

setUp();
mkdirSync(join(root, "out"), { recursive: true });
const args = ["rehearse", "scenarios/leader-reboot.json", "--html", "out/leader-reboot.html", ...process.argv.slice(2)];
const { status } = spawnSync(process.execPath, [command, ...args], { cwd: root, stdio: "inherit" });
process.exitCode = status ?? 130;
