/**
 * The engine as a script of its own, which the page holds as text beside what both share: a worker is made of the two;
 * where there are no workers, the page runs the engine's text itself and finds {@link play} under a name of its own.
 */
import { ON_PAGE } from "./on-page.ts";
import { play } from "./play.ts";
import type { Answer, Ready, Request } from "./protocol.ts";

if (typeof document === "undefined") {
  const say = (what: Answer | Ready) => postMessage(what);
  addEventListener("message", ({ data }: MessageEvent<Request>) => play(data, say));
  say({ is: "ready" });
} else Object.assign(globalThis, { [ON_PAGE]: play });
