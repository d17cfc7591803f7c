/**
 * From modules that share one to scripts that stand in a page: a module of a page without a server has no address that
 * another could import it by, and a worker made of text has none either.
 */
import { type ESTree, parseAst } from "vite";
import { reassigned } from "./reassigned.ts";

/** Under which name the common script leaves what it exports, for scripts of the same page or worker. */
const COMMON = "pulltestCommon";

export interface Common {
  readonly script: string;
  /** What it exports, in the order in which the script leaves it. */
  readonly exports: readonly string[];
}

/** The module that imports nothing, as a classic script. Throws where an export is more than one value for good. */
export function commonScript(code: string): Common {
  const program = parseAst(code);
  const exported = new Map<string, string>();
  const rest = without(code, program, (statement) => {
    if (!/^(Import|Export)/.test(statement.type)) return true;
    const isList = statement.type === "ExportNamedDeclaration" && statement.declaration === null;
    if (!isList || statement.source !== null) throw unknown(code, statement);
    for (const one of statement.specifiers) exported.set(nameOf(one.exported), nameOf(one.local));
    return false;
  });
  const changing = reassigned(program, new Set(exported.values()));
  if (changing.size > 0)
    throw new Error(
      `The common script exports what it assigns anew, and importers would keep the old value: ${[...changing].join(", ")}.`,
    );
  // A list, because several hundred names, twice, are two kilobytes even when compressed.
  const script = `const ${COMMON}=(()=>{"use strict";${rest};return[${[...exported.values()].join(",")}]})();`;
  return { script, exports: [...exported.keys()] };
}

/** A module that imports from the common one alone (`commonFile` beside it), where the common script has run. */
export function onCommon(code: string, commonFile: string, { exports }: Common): string {
  const program = parseAst(code);
  const taken = new Map<string, string>();
  const rest = without(code, program, (statement) => {
    if (statement.type !== "ImportDeclaration") {
      if (/^Export/.test(statement.type)) throw unknown(code, statement);
      return true;
    }
    if (statement.source.value !== `./${commonFile}`) throw unknown(code, statement);
    for (const one of statement.specifiers) {
      const name = one.type === "ImportSpecifier" ? nameOf(one.imported) : null;
      if (name === null || !exports.includes(name) || taken.has(name)) throw unknown(code, statement);
      taken.set(name, one.local.name);
    }
    return false;
  });
  const places = exports.map((name) => taken.get(name) ?? "").join(",");
  return `const[${places.replace(/,+$/, "")}]=${COMMON};${rest}`;
}

/** A script that leaves no name behind and is strict, as modules are. */
export function enclosed(code: string): string {
  return `(()=>{"use strict";${code}})();`;
}

/** The code without those statements of its top level that are not to stay. */
function without(
  code: string,
  program: ESTree.Program,
  stays: (statement: ESTree.Program["body"][number]) => boolean,
): string {
  let rest = "";
  let from = 0;
  for (const statement of program.body) {
    if (stays(statement)) continue;
    rest += code.slice(from, statement.start);
    from = statement.end;
  }
  return (rest + code.slice(from)).trim();
}

function nameOf(name: ESTree.ModuleExportName): string {
  if (name.type === "Identifier") return name.name;
  throw new Error(`An export is called ${JSON.stringify(name.value)}, which is no name.`);
}

function unknown(code: string, { start, end }: ESTree.Span): Error {
  return new Error(`Cannot be put into a script: ${code.slice(start, Math.min(end, start + 120))}`);
}
