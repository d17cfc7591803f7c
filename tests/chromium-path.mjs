// Where this machine has its Chromium: named by `CHROMIUM_PATH`, or on the path.
import { accessSync, constants } from "node:fs";
import { delimiter, join } from "node:path";

export function findChromium() {
  const { CHROMIUM_PATH, PATH = "" } = process.env;
  const names = ["chromium", "chromium-browser", "google-chrome"];
  const places = PATH.split(delimiter).flatMap((folder) => names.map((name) => join(folder, name)));
  return [CHROMIUM_PATH, ...places].find((place) => place && isProgram(place));
}

/** @param {string} path */
function isProgram(path) {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
