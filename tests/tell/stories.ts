/** Every shipped scenario and every template, read, played and told. */
import { readFileSync } from "node:fs";
import { readScenario } from "../../shared/scenario.ts";
import type { Telling } from "../../shared/telling.ts";
import { firstFix } from "../../sim/first-fix.ts";
import { type Run, rehearse } from "../../sim/rehearse.ts";
import { listener } from "../../sim/tell/words.ts";
import { tell } from "../../sim/tell.ts";
import { TEMPLATES } from "../../sim/templates/index.ts";
import { SHIPPED } from "../helpers/shipped.ts";

export interface Story {
  readonly name: string;
  readonly run: Run;
  readonly telling: Telling;
  /** Who hears a feed, as the telling names them. */
  whoOf(feed: string): string;
}

const stories = new Map<string, Story>();

/** Each played once for all tests of a worker. */
export function told(): readonly Story[] {
  return [...SHIPPED, ...TEMPLATES.map(({ name }) => name)].map(story);
}

/** One of them, by the name of its file or template. */
export function story(name: string): Story {
  const known = stories.get(name);
  if (known) return known;
  const template = TEMPLATES.find((one) => one.name === name);
  const made = storyOf(name, template ? new TextEncoder().encode(template.text) : readFileSync(`scenarios/${name}`));
  stories.set(name, made);
  return made;
}

function storyOf(name: string, bytes: Uint8Array): Story {
  const { plan, issues, sha256 } = readScenario({ file: `scenarios/${name}`, bytes }, (wanted) => ({
    bytes: readFileSync(`scenarios/${wanted}`),
  }));
  if (plan === null) throw new Error(`${name}: ${JSON.stringify(issues)}`);
  const run = rehearse(plan, { sha256 });
  const whoOf = (id: string) => {
    const feed = plan.feeds.find((one) => one.id === id);
    return feed === undefined ? "" : listener(feed, plan.feeds).head;
  };
  return { name, run, telling: tell(run, { fix: firstFix(run) }), whoOf };
}
