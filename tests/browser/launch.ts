import { type Browser, chromium, type LaunchOptions } from "playwright-core";

const FLAGS = [
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

/** The machine's own Chromium, without a window. Throws when `CHROMIUM_PATH` does not say where it is. */
export function launchChromium(options: LaunchOptions = {}): Promise<Browser> {
  const executablePath = process.env.CHROMIUM_PATH;
  if (!executablePath)
    throw new Error("No Chromium: `npm test` looks for one; for vitest alone set CHROMIUM_PATH to the program.");
  // Chromium refuses its sandbox to root, which is what a container's only user is.
  const args = process.getuid?.() === 0 ? [...FLAGS, "--no-sandbox"] : FLAGS;
  return chromium.launch({ ...options, executablePath, args });
}
