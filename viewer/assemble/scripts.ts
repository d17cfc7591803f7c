/**
 * From modules that share some to scripts that stand in a page: a module of a page without a server has no address that
 * another could import it by, and a worker made of text has none either.
 */
import { type ESTree, parseAst } from "vite";
import { LEFT_BY_SCRIPTS } from "../held-scripts.ts";
import { reassigned } from "./reassigned.ts";

/** A script as others that come after it know it. */
export interface Left {
  /** Under which name it leaves what it exports. */
  readonly id: string;
  /** In the order in which it leaves them. */
  readonly exports: readonly string[];
}

/**
 * The module as a classic script that leaves no name behind but its own. Throws where it exports what is more than one
 * value for good, or imports what no script before it leaves.
 *
 * @param before by name of the file: those that have run by then
 */
export function scriptOf(
  id: string,
  code: string,
  before: ReadonlyMap<string, Left>,
): Left & { readonly script: string } {
  const program = parseAst(code);
  const exported = new Map<string, string>();
  const taken: string[] = [];
  const rest = without(code, program, (statement) => {
    if (statement.type === "ImportDeclaration") {
      const from = before.get(statement.source.value.replace("./", ""));
      if (from === undefined) throw unknown(code, statement);
      taken.push(`const[${places(code, statement, from)}]=${LEFT_BY_SCRIPTS}[${JSON.stringify(from.id)}];`);
      return false;
    }
    if (!/^Export/.test(statement.type)) return true;
    const isList = statement.type === "ExportNamedDeclaration" && statement.declaration === null;
    if (!isList || statement.source !== null) throw unknown(code, statement);
    for (const one of statement.specifiers) exported.set(nameOf(one.exported), nameOf(one.local));
    return false;
  });
  const changing = reassigned(program, new Set(exported.values()));
  if (changing.size > 0)
    throw new Error(
      `${id} exports what it assigns anew, and importers would keep the old value: ${[...changing].join(", ")}.`,
    );
  // A list, because several hundred names, twice, are two kilobytes even when compressed.
  const left = `return[${[...exported.values()].join(",")}]`;
  const body = `"use strict";${taken.join("")}${rest};${left}`;
  const script = `(globalThis.${LEFT_BY_SCRIPTS}??={})[${JSON.stringify(id)}]=(()=>{${body}})();`;
  return { id, script, exports: [...exported.keys()] };
}

/** What is taken of the list that another script leaves, each at its place in it. */
function places(code: string, statement: ESTree.ImportDeclaration, { exports }: Left): string {
  const taken = new Map<string, string>();
  for (const one of statement.specifiers) {
    const name = one.type === "ImportSpecifier" ? nameOf(one.imported) : null;
    if (name === null || !exports.includes(name) || taken.has(name)) throw unknown(code, statement);
    taken.set(name, one.local.name);
  }
  const names = exports.map((name) => taken.get(name) ?? "").join(",");
  return names.replace(/,+$/, "");
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
