/**
 * The stamp of a plan: four characters that a crew reads on paper and says over comms, "K7-QF". It comes from what the plan
 * means (`meaning.ts`), so that everybody with the same stamp has the same rig, whatever their files look like.
 *
 * Of 456,976 stamps two plans that differ have the same one by chance; over the few versions of one show that never
 * matters, and a file's own digest stands beside it where machines compare.
 */
import type { Plan } from "../shared/plan.ts";
import { sha256 } from "../shared/sha256.ts";
import { STAMP_CHARACTERS } from "../shared/units.ts";
import type { Said } from "./meaning.ts";
import { meaningOf } from "./meaning.ts";

/** The spelling alphabet of the International Radiotelephony (ITU Radio Regulations, appendix 14; ICAO annex 10), from memory. */
const SPELLED: Readonly<Record<string, string>> = {
  ...{ A: "Alfa", C: "Charlie", D: "Delta", E: "Echo", F: "Foxtrot", G: "Golf", H: "Hotel", J: "Juliett" },
  ...{ K: "Kilo", L: "Lima", M: "Mike", N: "November", P: "Papa", Q: "Quebec", R: "Romeo", T: "Tango" },
  ...{ U: "Uniform", V: "Victor", W: "Whiskey", X: "X-ray", Y: "Yankee" },
  ...{ "3": "Three", "4": "Four", "6": "Six", "7": "Seven", "9": "Nine" },
};

/** A plan never changes, and several places of a page say its stamp. */
const stamps = new WeakMap<Plan, string>();

/** "K7-QF" */
export function stampOf(plan: Plan): string {
  const known = stamps.get(plan) ?? stampOfSaid(meaningOf(plan) as unknown as Said);
  stamps.set(plan, known);
  return known;
}

/** The stamp of a plan that came with it: it has been worked out where the run was played. */
export function keepStamp(plan: Plan, stamp: string): void {
  stamps.set(plan, stamp);
}

/** The stamp of a part of what a plan says. */
export function stampOfSaid(said: Said): string {
  const digest = sha256(new TextEncoder().encode(canonical(said)));
  // Twelve digits are 48 bits: exact in a number, and even over the stamps to a part in half a billion.
  let left = Number.parseInt(digest.slice(0, 12), 16);
  let stamp = "";
  for (let place = 0; place < 4; place++) {
    stamp += (place === 2 ? "-" : "") + (STAMP_CHARACTERS[left % STAMP_CHARACTERS.length] as string);
    left = Math.floor(left / STAMP_CHARACTERS.length);
  }
  return stamp;
}

/** "Kilo Seven, Quebec Foxtrot" */
export function spelledStamp(stamp: string): string {
  return stamp
    .split("-")
    .map((pair) => [...pair].map((character) => SPELLED[character] ?? character).join(" "))
    .join(", ");
}

/** JSON with its keys in order. */
export function canonical(said: Said): string {
  if (Array.isArray(said)) return `[${said.map(canonical).join(",")}]`;
  if (typeof said !== "object" || said === null) return JSON.stringify(said);
  const fields = said as { readonly [name: string]: Said | undefined };
  const keys = Object.keys(fields)
    .filter((key) => fields[key] !== undefined)
    .sort();
  return `{${keys.map((key) => `${JSON.stringify(key)}:${canonical(fields[key] as Said)}`).join(",")}}`;
}

/** Of Node and of browsers alike. */
declare const TextEncoder: { new (): { encode(text: string): Uint8Array } };
