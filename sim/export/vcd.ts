/**
 * A run as a value change dump, which wave viewers open. The same run gives the same bytes, so `$date` is left out.
 *
 * Shape: IEEE Std 1364-2005, clause 18, from memory. One unit is a nanosecond. The standard has no texts: a state is a
 * vector, and a `$comment` in the head says what its numbers stand for.
 */
import { addTo } from "../../shared/lists.ts";
import type { Run } from "../rehearse.ts";
import { type Signal, SLIPS_SINGLY, signalsOf } from "./signals.ts";

export function vcdText(run: Run, version: string): string {
  const signals = signalsOf(run);
  const { summary, record } = run;
  const lines = [
    `$version Pulltest ${ascii(version)} $end`,
    comment([
      summary.scenario.title,
      `seed ${summary.seed}`,
      `scenario SHA-256 ${summary.scenario.sha256}`,
      `${summary.assumed.length} assumed numbers: a rehearsal, not a test`,
    ]),
    comment(["What the numbers of a state stand for:", ...legend(signals)]),
    comment([
      "events, realigned, drops and repeats count what there was so far.",
      "slips of a feed are counted where a stretch of them ends.",
      `In a run of more than ${SLIPS_SINGLY} slips, drops and repeats go on by several at once.`,
    ]),
    "$timescale 1 ns $end",
    ...declarations(signals),
    "$enddefinitions $end",
    "#0",
    "$dumpvars",
    ...signals.map((signal, index) => {
      const first = signal.changes[0];
      return valueLine(signal, first?.atNs === 0 ? first.value.toString(2) : "x", index);
    }),
    "$end",
  ];
  let now = 0;
  for (const { atNs, value, index } of laterChanges(signals, record.endNs)) {
    if (atNs !== now) lines.push(`#${atNs}`);
    now = atNs;
    lines.push(valueLine(signals[index] as Signal, value.toString(2), index));
  }
  // The last instant says how long it was as it then stood.
  if (now !== record.endNs) lines.push(`#${record.endNs}`);
  lines.push("");
  return lines.join("\n");
}

function laterChanges(signals: readonly Signal[], endNs: number) {
  const changes = signals.flatMap((signal, index) =>
    signal.changes
      .filter(({ atNs }) => atNs > 0 && atNs <= endNs)
      .map(({ atNs, value }) => ({ atNs: atNs as number, value, index })),
  );
  return changes.sort((one, other) => one.atNs - other.atNs || one.index - other.index);
}

/** Scopes opened and closed so that each is open once, whatever lies inside it. */
function declarations(signals: readonly Signal[]): readonly string[] {
  const lines: string[] = [];
  const inside = (scope: readonly string[], depth: number, here: readonly (readonly [Signal, number])[]) => {
    for (const [signal, index] of here) {
      if (signal.scope.length === depth) lines.push(declaration(signal, index));
    }
    const names = new Set(here.flatMap(([signal]) => signal.scope[depth] ?? []));
    for (const name of names) {
      lines.push(`$scope module ${identifier(name)} $end`);
      inside(
        [...scope, name],
        depth + 1,
        here.filter(([signal]) => signal.scope[depth] === name),
      );
      lines.push("$upscope $end");
    }
  };
  inside(
    [],
    0,
    signals.map((signal, index) => [signal, index] as const),
  );
  return lines;
}

function declaration(signal: Signal, index: number): string {
  const named = `${codeOf(index)} ${identifier(signal.name)}`;
  if (signal.kind === "count") return `$var integer 32 ${named} $end`;
  const bits = bitsOf(signal);
  return `$var wire ${bits} ${named}${bits === 1 ? "" : ` [${bits - 1}:0]`} $end`;
}

function bitsOf({ kind, words }: Signal): number {
  if (kind === "count") return 32;
  return kind === "flag" ? 1 : (words.length - 1).toString(2).length;
}

/** @param value in binary digits, or "x": not known */
function valueLine(signal: Signal, value: string, index: number): string {
  return bitsOf(signal) === 1 ? `${value}${codeOf(index)}` : `b${value} ${codeOf(index)}`;
}

const [FIRST_CODE, CODES] = [33, 94];

/** The signal's short name in a dump: printable characters, of which ASCII has 94. */
function codeOf(index: number): string {
  const last = String.fromCharCode(FIRST_CODE + (index % CODES));
  return index < CODES ? last : codeOf(Math.floor(index / CODES) - 1) + last;
}

/** What is no plain name of the language is one that is escaped: a backslash before it, a space behind it. */
function identifier(name: string): string {
  const printable = [...name].map((character) => (/[!-$&-[\]-~]/.test(character) ? character : percent(character)));
  const whole = printable.join("");
  return /^[A-Za-z_][A-Za-z0-9_$]*$/.test(whole) ? whole : `\\${whole}`;
}

function percent(character: string): string {
  const point = (character.codePointAt(0) as number).toString(16);
  return point.length < 3 ? `%${point.padStart(2, "0")}` : `%u{${point}}`;
}

/** Once where all signals of a name and a kind of thing have the same words; others by their places. */
function legend(signals: readonly Signal[]): readonly string[] {
  /** By "devices.*.state", then by words: the places. */
  const tables = new Map<string, Map<string, string[]>>();
  for (const { kind, scope, name, words } of signals) {
    if (kind !== "code") continue;
    const group = `${scope[0]}.*.${name}`;
    const byWords = tables.get(group) ?? new Map<string, string[]>();
    tables.set(group, byWords);
    addTo(byWords, words.map((word, number) => `${number} = ${word}`).join(", "), [...scope, name].join("."));
  }
  return [...tables].flatMap(([group, byWords]) =>
    [...byWords].map(([words, places]) => `${byWords.size === 1 ? group : places.join(" ")}: ${words}`),
  );
}

function comment(lines: readonly string[]): string {
  return ["$comment", ...lines.map((line) => `  ${ascii(line)}`), "$end"].join("\n");
}

/** Nothing in a text may look like the end of its comment. */
function ascii(text: string): string {
  return [...text].map((character) => (/[ -#%-~]/.test(character) ? character : percent(character))).join("");
}
