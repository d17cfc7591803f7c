import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

const root = fileURLToPath(new URL("..", import.meta.url));

/** `unit` is everything that needs Node alone; `browser` opens the built page in a real Chromium. */
export default defineConfig({
  root,
  test: {
    // One less than there are cores is what vitest takes, which on two cores is one after the other.
    maxWorkers: 2,
    projects: [
      {
        root,
        // Nothing here measures time: on a busy machine a test may take several times as long, and a hang still ends.
        test: {
          name: "unit",
          include: ["tests/**/*.test.ts"],
          exclude: ["tests/browser/**"],
          testTimeout: 60_000,
          hookTimeout: 60_000,
        },
      },
      {
        root,
        // A browser takes seconds to start on a busy machine; nothing here measures time.
        test: { name: "browser", include: ["tests/browser/**/*.test.ts"], testTimeout: 60_000, hookTimeout: 60_000 },
      },
    ],
  },
});
