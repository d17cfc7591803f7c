/** Things by what people call them: id, name, or either in other letters. */
import { bare, slug } from "./values.ts";

const ID = /^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$/;

export class Names {
  private readonly exact = new Map<string, string>();
  private readonly loose = new Map<string, string>();

  add(id: string, ...names: readonly string[]): void {
    for (const name of [id, ...names]) {
      if (name === "") continue;
      if (!this.exact.has(name)) this.exact.set(name, id);
      if (bare(name) !== "" && !this.loose.has(bare(name))) this.loose.set(bare(name), id);
    }
  }

  find(text: string): string | null {
    return this.exact.get(text) ?? this.loose.get(bare(text)) ?? null;
  }

  /** The id, or the text itself, which the reader of the scenario then refuses by its own rules. */
  idOr(text: string): string {
    return this.find(text) ?? text;
  }

  all(): string[] {
    return [...this.exact.keys()];
  }
}

/** A name as an id, in the file's usual letters: "FOH desk" is foh-desk. */
export function idFromName(name: string, instead: string): string {
  const made = slug(name);
  return made === "" ? instead : made;
}

/** A text as an id: itself where it is one, else its letters; `instead` where it has none that an id may have. */
export function idFrom(text: string, instead: string): string {
  if (ID.test(text)) return text;
  return idFromName(text, instead);
}

/** One that is not taken yet: main, main-2, main-3. */
export function freeId(wanted: string, taken: Pick<ReadonlySet<string>, "has">): string {
  let id = wanted;
  for (let count = 2; taken.has(id); count++) id = `${wanted.slice(0, 60)}-${count}`;
  return id;
}

export interface End {
  /** As it was called, where nobody of that name is known. */
  readonly device: string;
  readonly isKnown: boolean;
  readonly port: string | null;
}

/** "stage.1", "FOH desk port 1", "FOH desk:1" or a device alone: "Stage box 2" is a device where there is one. */
export function endFrom(text: string, devices: Names): End {
  const whole = devices.find(text);
  const [, device = "", port = ""] =
    /^(.*?)\s*[.:/#]\s*(\d{1,3})$/su.exec(text) ?? /^(.*?)\s+(?:port|socket|p)\s*(\d{1,3})$/isu.exec(text) ?? [];
  const dotted = device === "" ? null : devices.find(device);
  if (dotted !== null) return { device: dotted, isKnown: true, port };
  if (whole !== null) return { device: whole, isKnown: true, port: null };
  const [, first = "", number = ""] = /^(.*\S)\s+(\d{1,3})$/su.exec(text) ?? [];
  const spaced = first === "" ? null : devices.find(first);
  if (spaced !== null) return { device: spaced, isKnown: true, port: number };
  return device === "" ? { device: text, isKnown: false, port: null } : { device, isKnown: false, port };
}
