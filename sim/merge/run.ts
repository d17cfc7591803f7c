/** What two plans say of the run, and what the joined one has where they differ. */
import { defaultOf } from "../../shared/defaults.ts";
import { fieldsOf } from "../../shared/mentions.ts";
import { parseShowTime } from "../../shared/units.ts";
import type { Company } from "./company.ts";
import { bothSay, type Companies, type Conflict, placesOf } from "./conflict.ts";

/** What a run has in one file only once, and what it is where two differ. */
export interface RunWords {
  readonly length: string;
  readonly seed: string;
  readonly begin: "settled" | "cold";
  readonly wander: boolean;
  readonly startCelsius: number;
  readonly wanderGridSeconds: number;
}

export function runOf({ value }: Company): RunWords {
  const run = fieldsOf(value.run) as Partial<RunWords>;
  return {
    length: run.length ?? "",
    seed: run.seed ?? defaultOf("run", "seed"),
    begin: run.begin ?? (defaultOf("run", "begin") as RunWords["begin"]),
    wander: run.wander ?? defaultOf("run", "wander"),
    startCelsius: run.startCelsius ?? defaultOf("run", "startCelsius"),
    wanderGridSeconds: run.wanderGridSeconds ?? defaultOf("run", "wanderGridSeconds"),
  };
}

/** What both come to; the longer show, the worse beginning, the finer grid. */
export function commonRun(companies: Companies): RunWords {
  const [one, other] = companies.map(runOf) as [RunWords, RunWords];
  const isLonger = (parseShowTime(one.length) ?? 0) >= (parseShowTime(other.length) ?? 0);
  return {
    length: isLonger ? one.length : other.length,
    seed: one.seed < other.seed ? one.seed : other.seed,
    begin: one.begin === "cold" || other.begin === "cold" ? "cold" : "settled",
    wander: one.wander || other.wander,
    startCelsius: Math.min(one.startCelsius, other.startCelsius),
    wanderGridSeconds: Math.min(one.wanderGridSeconds, other.wanderGridSeconds),
  };
}

const RUN_WORDS: Readonly<Record<keyof RunWords, readonly [question: string, remedy: string]>> = {
  length: ["How long is the show that both play?", "The longer one is played."],
  seed: ["Which seed is the joined run drawn from?", "The one that comes first by its letters is taken."],
  begin: ["Does the rig stand before the show, or is it switched on as it begins?", "It begins cold: the worse case."],
  wander: ["Do the oscillators wander in this run?", "Each company's devices go on as their own file has them."],
  startCelsius: [
    "How warm is it as the show begins?",
    "Each company's devices begin as warm as their own file has them.",
  ],
  wanderGridSeconds: ["How finely is wander drawn?", "The finer grid is taken."],
};

export function runConflicts(companies: Companies): Conflict[] {
  const [one, other] = companies.map(runOf) as [RunWords, RunWords];
  return (Object.keys(RUN_WORDS) as (keyof RunWords)[]).flatMap((field): Conflict[] => {
    if (one[field] === other[field]) return [];
    const [question, remedy] = RUN_WORDS[field];
    return [
      {
        ...{ kind: "run", about: field, question, remedy, isBlocking: false },
        places: placesOf(companies, ["run", field], ["run", field]),
        what: `The runs differ in ${field}: ${bothSay(companies, String(one[field]), String(other[field]))}.`,
      },
    ];
  });
}
