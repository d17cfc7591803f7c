/** What lies behind a frame, cable by cable and bridge by bridge. */
import type { NetworkPath } from "../mail.ts";

export const NO_PATH: NetworkPath = { forthSeconds: 0, backSeconds: 0, varianceSeconds2: 0, bridges: 0 };

/** With a cable more behind it; seconds in its direction, and the other way. */
export function afterCable(path: NetworkPath, forthSeconds: number, backSeconds: number): NetworkPath {
  return {
    forthSeconds: path.forthSeconds + forthSeconds,
    backSeconds: path.backSeconds + backSeconds,
    varianceSeconds2: path.varianceSeconds2,
    bridges: path.bridges,
  };
}

/** With a bridge more behind it, in which it has waited. A bridge that tells how long adds nothing: zeros. */
export function afterBridge(path: NetworkPath, residenceSeconds: number, varianceSeconds2: number): NetworkPath {
  return {
    forthSeconds: path.forthSeconds + residenceSeconds,
    backSeconds: path.backSeconds + residenceSeconds,
    varianceSeconds2: path.varianceSeconds2 + varianceSeconds2,
    bridges: path.bridges + 1,
  };
}
