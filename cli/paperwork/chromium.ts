/**
 * Pictures of pages by the machine's own Chromium, where there is one: started once, spoken to over a pair of pipes (its
 * DevTools protocol, messages of JSON that end with a zero), with a profile of its own that is gone afterwards.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { accessSync, constants } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import type { Readable, Writable } from "node:stream";

/** Named by `CHROMIUM_PATH`, or on the path; null: none. */
export function chromiumPath(env: NodeJS.ProcessEnv): string | null {
  const places = (env.PATH ?? "")
    .split(delimiter)
    .flatMap((folder) => ["chromium", "chromium-browser", "google-chrome"].map((name) => join(folder, name)));
  return [env.CHROMIUM_PATH, ...places].find((place) => place !== undefined && isProgram(place)) ?? null;
}

function isProgram(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/** A phone held upright, and twice as many pixels, so that it can be zoomed into. */
const WIDTH = 540;
const SCALE = 2;
/** A browser that has not answered by then hangs, ms. */
const PATIENCE_MS = 30_000;

const FLAGS = [
  ...["--headless", "--remote-debugging-pipe", "--disable-gpu", "--no-first-run", "--hide-scrollbars"],
  ...["--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-quic"],
];

/** @param pages HTML texts. @throws where the browser does not do what it is asked */
export async function picturesOf(program: string, pages: readonly string[]): Promise<Uint8Array[]> {
  const profile = await mkdtemp(join(tmpdir(), "pulltest-cards-"));
  // A browser of the system's own administrator has no sandbox to put itself in.
  const isRoot = process.getuid?.() === 0;
  const browser = spawn(program, [...FLAGS, ...(isRoot ? ["--no-sandbox"] : []), `--user-data-dir=${profile}`], {
    stdio: ["ignore", "ignore", "ignore", "pipe", "pipe"],
  });
  try {
    const talk = new Talk(browser);
    const pictures: Uint8Array[] = [];
    const { targetId } = await talk.ask<{ targetId: string }>("Target.createTarget", { url: "about:blank" });
    const { sessionId } = await talk.ask<{ sessionId: string }>("Target.attachToTarget", { targetId, flatten: true });
    const ask = <T>(method: string, params: object = {}) => talk.ask<T>(method, params, sessionId);
    await ask("Emulation.setDeviceMetricsOverride", {
      ...{ width: WIDTH, height: 100, deviceScaleFactor: SCALE, mobile: false },
    });
    const { frameTree } = await ask<{ frameTree: { frame: { id: string } } }>("Page.getFrameTree");
    for (const html of pages) {
      await ask("Page.setDocumentContent", { frameId: frameTree.frame.id, html });
      const { cssContentSize } = await ask<{ cssContentSize: { width: number; height: number } }>(
        "Page.getLayoutMetrics",
      );
      const clip = { x: 0, y: 0, width: WIDTH, height: Math.ceil(cssContentSize.height), scale: 1 };
      const { data } = await ask<{ data: string }>("Page.captureScreenshot", {
        ...{ format: "png", captureBeyondViewport: true, clip },
      });
      pictures.push(Buffer.from(data, "base64"));
    }
    return pictures;
  } finally {
    const isGone = new Promise((done) => browser.once("exit", done));
    if (browser.exitCode === null && browser.signalCode === null && browser.kill("SIGKILL")) await isGone;
    await rm(profile, { recursive: true, force: true, maxRetries: 5 });
  }
}

interface Waiting {
  done(result: unknown): void;
  fail(reason: Error): void;
}

/** Questions and answers, each with a number. */
class Talk {
  private readonly writes: Writable;
  private readonly waiting = new Map<number, Waiting>();
  private asked = 0;
  private read = "";

  constructor(browser: ChildProcess) {
    this.writes = browser.stdio[3] as Writable;
    const reads = browser.stdio[4] as Readable;
    reads.setEncoding("utf8");
    reads.on("data", (text: string) => this.hear(text));
    const lost = (why: string) => () => {
      for (const each of this.waiting.values()) each.fail(new Error(why));
      this.waiting.clear();
    };
    browser.once("error", lost("it cannot be started"));
    browser.once("exit", lost("it ended too soon"));
    // What is written to a browser that has ended fails; its end is told above.
    this.writes.on("error", () => {});
  }

  ask<T>(method: string, params: object, sessionId?: string): Promise<T> {
    this.asked += 1;
    const id = this.asked;
    return new Promise<T>((done, fail) => {
      const late = setTimeout(() => fail(new Error(`it does not answer (${method})`)), PATIENCE_MS);
      const end = () => {
        clearTimeout(late);
        this.waiting.delete(id);
      };
      this.waiting.set(id, {
        done(result) {
          end();
          done(result as T);
        },
        fail(reason) {
          end();
          fail(reason);
        },
      });
      this.writes.write(
        `${JSON.stringify({ id, method, params, ...(sessionId === undefined ? {} : { sessionId }) })}\0`,
      );
    });
  }

  private hear(text: string): void {
    const messages = (this.read + text).split("\0");
    this.read = messages.pop() ?? "";
    for (const message of messages) {
      const { id, result, error } = JSON.parse(message) as {
        id?: number;
        result?: unknown;
        error?: { message: string };
      };
      const waiting = id === undefined ? undefined : this.waiting.get(id);
      if (error !== undefined) waiting?.fail(new Error(error.message));
      else waiting?.done(result);
    }
  }
}
