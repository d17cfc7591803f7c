/**
 * Reads as much of YAML as a manifest needs: maps and lists by indentation, plain scalars, literal blocks. Throws at
 * anything else, so that nothing is taken for what it is not.
 */

export type Plain = string | number | Plain[] | { [key: string]: Plain };

export function readPlainYaml(text: string): Plain {
  const lines = text.replace(/\n$/, "").split("\n");
  let at = 0;
  const indentOf = (line: string) => line.length - line.trimStart().length;

  function scalar(written: string): Plain {
    if (/^\d+$/.test(written)) return Number(written);
    // A leading "-" is text unless a space follows; all other marks of YAML would mean something.
    if (/^[A-Za-z/-][\w./:-]*$/.test(written) && !/^(?:true|false|yes|no|on|off|null|y|n)$|:$/i.test(written))
      return written;
    throw new Error(`not plain: ${written}`);
  }

  /** What stands behind "key:" or "-", on its own line or below it. */
  function value(written: string, indent: number): Plain {
    if (written === "|") return literal(indent);
    return written === "" ? block(indent) : scalar(written);
  }

  function literal(indent: number): string {
    const inside = indentOf(lines[at] ?? "");
    if (inside <= indent) throw new Error(`nothing in a literal above line ${at + 1}`);
    let found = "";
    while (at < lines.length && indentOf(lines[at] as string) >= inside)
      found += `${(lines[at++] as string).slice(inside)}\n`;
    return found;
  }

  /** Deeper than `indent`. */
  function block(indent: number): Plain {
    const inside = indentOf(lines[at] ?? "");
    if (at >= lines.length || inside <= indent) throw new Error(`nothing below line ${at}`);
    return (lines[at] as string).startsWith("- ", inside) ? list(inside) : map(inside);
  }

  function list(inside: number): Plain[] {
    const found: Plain[] = [];
    while (at < lines.length && indentOf(lines[at] as string) === inside) {
      const line = lines[at] as string;
      if (!line.startsWith("- ", inside)) throw new Error(`no entry: ${line}`);
      const rest = line.slice(inside + 2);
      if (/^\w+:/.test(rest)) {
        // The first key of a map stands behind the mark: as if it stood below.
        lines[at] = `${" ".repeat(inside + 2)}${rest}`;
        found.push(map(inside + 2));
      } else {
        at++;
        found.push(value(rest, inside));
      }
    }
    return found;
  }

  function map(inside: number): Plain {
    const found: { [key: string]: Plain } = {};
    while (at < lines.length && indentOf(lines[at] as string) === inside) {
      const [, key = "", rest = ""] = /^ *(\w+):(?: (.+))?$/.exec(lines[at] as string) ?? [];
      if (key === "" || key in found) throw new Error(`no key, or twice: ${lines[at]}`);
      at++;
      found[key] = value(rest, inside);
    }
    return found;
  }

  const read = block(-1);
  if (at !== lines.length) throw new Error(`line ${at + 1} belongs to nothing: ${lines[at]}`);
  return read;
}
