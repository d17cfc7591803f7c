/** Where the engine is in the page, and the two ways to run it. */
import { runHeld, textOfHeld } from "../held-scripts.ts";
import type { Host } from "./client.ts";
import { ON_PAGE, type OnPage } from "./on-page.ts";

export function hostOf(page: Document): Host {
  let address: string | null = null;
  return {
    makeWorker() {
      address ??= URL.createObjectURL(new Blob([textOfHeld(page, "engine")], { type: "text/javascript" }));
      return new Worker(address);
    },
    playHere(request, answer) {
      try {
        runHeld(page, "engine");
      } catch (error) {
        return answer({ id: request.id, is: "failed", problem: (error as Error).message });
      }
      (globalThis as unknown as { [ON_PAGE]: OnPage })[ON_PAGE](request, answer);
    },
  };
}
