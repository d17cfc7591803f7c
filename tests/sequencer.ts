import type { TestSpecification } from "vitest/node";
import { BaseSequencer } from "vitest/node";

/** Where two kinds of file alternate, workers would be ended and begun anew; the longest tests come first. */
const PROJECTS = ["browser", "alone", "unit"];

/** Folders whose files take long, though some are short; the longest first. */
const DEAR = ["cli", "properties", "tell", "oracle"];

/**
 * Long files first, so that at the end no core waits for the other. A run before tells vitest which those are; on a
 * clean checkout it goes by size, and this by folder before that.
 */
export class LongFilesFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const sorted = await super.sort(files);
    return sorted.sort((one, other) => rankOf(one) - rankOf(other));
  }
}

function rankOf({ project, moduleId }: TestSpecification): number {
  const folder = DEAR.findIndex((name) => moduleId.includes(`/tests/${name}/`));
  return PROJECTS.indexOf(project.name) * (DEAR.length + 1) + (folder === -1 ? DEAR.length : folder);
}
