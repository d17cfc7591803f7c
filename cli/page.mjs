// `npm run page`: the whole tool as one HTML file. `npm run page -- FILE` names the file.
import { copyFileSync, existsSync, mkdirSync, readFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { root, setUp } from "./setup.mjs";

setUp();
const [name = "out/pulltest.html"] = process.argv.slice(2);
const file = resolve(root, name);
const isOurs = !existsSync(file) || readFileSync(file, "utf8").includes('<meta name="generator" content="Pulltest"');
if (isOurs) {
  mkdirSync(dirname(file), { recursive: true });
  copyFileSync(join(root, "cli", "dist", "page.html"), file);
  console.log(`Wrote ${name}: open it in a browser, no network needed.`);
} else {
  console.error(`${name} is there and no page of Pulltest's: give another name.`);
  process.exitCode = 2;
}
