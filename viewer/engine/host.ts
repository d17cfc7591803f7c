/** Where the engine's texts are in the page, and the two ways to run it. */
import type { Host } from "./client.ts";
import { ON_PAGE, type OnPage } from "./on-page.ts";

export function hostOf(page: Document): Host {
  const text = (id: "common" | "engine") => page.querySelector(`#${id}`)?.textContent ?? "";
  let address: string | null = null;
  return {
    makeWorker() {
      address ??= URL.createObjectURL(new Blob([text("common"), "\n", text("engine")], { type: "text/javascript" }));
      return new Worker(address);
    },
    playHere(request, answer) {
      const held = globalThis as { [ON_PAGE]?: OnPage };
      if (held[ON_PAGE] === undefined) {
        const script = page.createElement("script");
        // What it shares with the page has run already.
        script.textContent = text("engine");
        page.head.append(script);
      }
      const play = held[ON_PAGE];
      if (play === undefined)
        answer({
          id: request.id,
          is: "failed",
          problem: "This page does not hold the engine it should: make it again",
        });
      else play(request, answer);
    },
  };
}
