/** Where the engine's text is in the page, and the two ways to run it. */
import type { Host } from "./client.ts";
import { ON_PAGE, type OnPage } from "./on-page.ts";

export function hostOf(page: Document): Host {
  const text = () => page.querySelector("#engine")?.textContent ?? "";
  let address: string | null = null;
  return {
    makeWorker() {
      address ??= URL.createObjectURL(new Blob([text()], { type: "text/javascript" }));
      return new Worker(address);
    },
    playHere(request, answer) {
      const held = globalThis as { [ON_PAGE]?: OnPage };
      if (held[ON_PAGE] === undefined) {
        const script = page.createElement("script");
        script.textContent = text();
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
