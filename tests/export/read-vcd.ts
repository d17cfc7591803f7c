/**
 * A reader of value change dumps that takes nothing which IEEE 1364-2005, clause 18, does not describe (from memory), and
 * shares no line with the writer. It throws at the first thing that it does not understand.
 */

export interface DumpedSignal {
  readonly type: string;
  readonly bits: number;
  /** "x" where it is not known; no value twice running. */
  readonly changes: { readonly at: number; readonly value: number | "x" }[];
}

export interface Dump {
  readonly timescale: string;
  readonly comments: readonly string[];
  /** By place and name, escapes taken off: "links foh-mon there state". */
  readonly signals: ReadonlyMap<string, DumpedSignal>;
  readonly endsAt: number;
}

const COMMANDS = new Set([
  "$comment",
  "$date",
  "$enddefinitions",
  "$scope",
  "$timescale",
  "$upscope",
  "$var",
  "$version",
]);

export function readVcd(text: string): Dump {
  if (!/^[\t\n -~]*$/.test(text)) throw new Error("not ASCII");
  const tokens = text.split(/\s+/).filter((token) => token !== "");
  const signals = new Map<string, DumpedSignal>();
  const byCode = new Map<string, DumpedSignal>();
  const comments: string[] = [];
  const scope: string[] = [];
  let timescale = "";
  let at = 0;
  const next = () => {
    const token = tokens[at++];
    if (token === undefined) throw new Error("ends in the middle");
    return token;
  };
  const upToEnd = () => {
    const words: string[] = [];
    for (let word = next(); word !== "$end"; word = next()) words.push(word);
    return words;
  };
  for (let isDefined = false; !isDefined; ) {
    const command = next();
    if (!COMMANDS.has(command)) throw new Error(`no command: ${command}`);
    const words = upToEnd();
    if (command === "$comment") comments.push(words.join(" "));
    if (command === "$timescale") timescale = words.join("");
    if (command === "$enddefinitions") isDefined = true;
    if (command === "$upscope" && scope.pop() === undefined) throw new Error("a scope is closed that was not open");
    if (command === "$scope") {
      if (words.length !== 2 || words[0] !== "module") throw new Error(`no scope: ${words.join(" ")}`);
      scope.push(unescaped(words[1] as string));
    }
    if (command === "$var") {
      const [type = "", size = "", code = "", name = "", range = "", ...more] = words;
      const bits = Number(size);
      if (!["wire", "integer"].includes(type) || !(bits >= 1) || more.length > 0) throw new Error(words.join(" "));
      if (range !== (bits === 1 || type === "integer" ? "" : `[${bits - 1}:0]`)) throw new Error(words.join(" "));
      const place = [...scope, unescaped(name)].join(" ");
      if (signals.has(place) || byCode.has(code)) throw new Error(`twice: ${place} ${code}`);
      const signal = { type, bits, changes: [] };
      signals.set(place, signal);
      byCode.set(code, signal);
    }
  }
  if (scope.length > 0) throw new Error("a scope is left open");
  let now = -1;
  let isDumping = false;
  const change = (value: string, code: string) => {
    const signal = byCode.get(code);
    if (signal === undefined) throw new Error(`nothing has the code ${code}`);
    if (now < 0) throw new Error("a value before any instant");
    if (value.length > signal.bits) throw new Error(`${value} in ${signal.bits} bits`);
    const number = /^x+$/.test(value) ? "x" : Number.parseInt(value, 2);
    const last = signal.changes.at(-1);
    if (last?.value !== number) signal.changes.push({ at: now, value: number });
  };
  while (at < tokens.length) {
    const token = next();
    if (/^#\d+$/.test(token)) {
      const instant = Number(token.slice(1));
      if (instant <= now) throw new Error(`${token} after #${now}`);
      now = instant;
    } else if (token === "$dumpvars") isDumping = true;
    else if (token === "$end" && isDumping) isDumping = false;
    else if (/^b[01x]+$/.test(token)) change(token.slice(1), next());
    else if (/^[01x]./.test(token)) change(token.slice(0, 1), token.slice(1));
    else throw new Error(`no change of value: ${token}`);
  }
  return { timescale, comments, signals, endsAt: now };
}

/** What is no plain name has a backslash before it. */
function unescaped(name: string): string {
  if (name.startsWith("\\")) return name.slice(1);
  if (!/^[A-Za-z_][A-Za-z0-9_$]*$/.test(name)) throw new Error(`no name: ${name}`);
  return name;
}

/** What the comments say that numbers stand for, by place and name. */
export function wordsOf({ comments, signals }: Dump): ReadonlyMap<string, readonly string[]> {
  const [legend] = comments.filter((comment) => comment.startsWith("What the numbers of a state stand for:"));
  const found = new Map<string, readonly string[]>();
  // Written line by line; the reader above has lines no more, so a table begins at a place that ends with a colon.
  const tables = [...(legend ?? "").matchAll(/((?:\S+\.\S+ )*\S+\.\S+): ((?:\d+ = .*?)(?= \S+\.\S+[ :]|$))/g)];
  for (const [, places = "", table = ""] of tables) {
    const words = table.split(", ").map((entry, index) => {
      const [number, word = ""] = entry.split(" = ");
      if (Number(number) !== index) throw new Error(`not in order: ${table}`);
      return word;
    });
    for (const place of places.split(" ")) {
      const [group, ...rest] = place.split(".");
      const name = rest.at(-1);
      for (const signal of signals.keys()) {
        const isMeant =
          rest[0] === "*"
            ? signal.startsWith(`${group} `) && signal.endsWith(` ${name}`)
            : signal === place.replaceAll(".", " ");
        if (isMeant) found.set(signal, words);
      }
    }
  }
  return found;
}
