/**
 * From the bytes of a file to a value that knows its places. JSON with comments and trailing commas. Whatever the
 * bytes are, this returns in time that grows with their number: size, depth and number of tokens are limited before
 * anything is parsed, and nothing in a file becomes a property of anything but its own object.
 */

import type { Node, ParseError } from "jsonc-parser";
import { createScanner, parseTree, printParseErrorCode } from "jsonc-parser";
import type { Issue, Path } from "./issues.ts";
import { quote } from "./issues.ts";

/** The largest rigs that people describe by hand are a hundredth of this, and have a fiftieth of these tokens. */
export const FILE_BYTES_MAX = 4_000_000;
const DEPTH_MAX = 64;
const TOKENS_MAX = 200_000;
const SYNTAX_ISSUES_MAX = 20;

/** What an issue says, besides its place. */
export interface Complaint {
  readonly expected: string;
  readonly received: string;
  readonly remedy: string;
}

export interface JsonFile {
  readonly file: string;
  readonly value: unknown;
  /** An issue at the value of a path, or at the nearest thing around it that is there. */
  issue(path: Path, complaint: Complaint): Issue;
  /** An issue at the key of a property. */
  issueAtKey(path: Path, complaint: Complaint): Issue;
  /** The value at a path; undefined if there is none. */
  at(path: Path): unknown;
}

export type ReadJson =
  | { readonly json: JsonFile; readonly issues: readonly Issue[] }
  | { readonly json: null; readonly issues: readonly Issue[] };

/** Reads one file. `json` is null where it is no JSON at all; duplicate keys and `__proto__` are issues, and left out. */
export function readJson(file: string, bytes: Uint8Array): ReadJson {
  const refuse = (complaint: Complaint, line = 1, column = 1): ReadJson => ({
    json: null,
    issues: [{ file, line, column, path: [], ...complaint }],
  });

  if (bytes.length > FILE_BYTES_MAX)
    return refuse({
      expected: `a file of at most ${FILE_BYTES_MAX / 1e6} MB`,
      received: `${(bytes.length / 1e6).toFixed(1)} MB`,
      remedy: "name a scenario file; recordings and pictures do not belong in it",
    });
  const text = decodeUtf8(bytes);
  if (text === null)
    return refuse({
      expected: "a text file in UTF-8",
      received: encodingGuess(bytes),
      remedy: "save it as UTF-8",
    });

  const lines = lineStarts(text);
  const place = (offset: number) => lineAndColumn(lines, offset);
  const limit = overLimit(text);
  if (limit) {
    const { line, column } = place(limit.offset);
    return refuse(limit, line, column);
  }

  const errors: ParseError[] = [];
  const root = parseTree(text, errors, { allowTrailingComma: true });
  if (errors.length > 0 || !root) return { json: null, issues: syntaxIssues(file, text, errors, place) };

  const issues: Issue[] = [];
  const value = build(root, [], (node, path, complaint) => {
    issues.push({ file, ...place(node.offset), path, ...complaint });
  });

  const children = new WeakMap<Node, Map<string | number, Node>>();
  const childOf = (node: Node, step: string | number): Node | undefined => {
    let known = children.get(node);
    if (!known) {
      known = indexed(node);
      children.set(node, known);
    }
    return known.get(step);
  };
  const nearestNode = (path: Path): Node => {
    let node = root;
    for (const step of path) {
      const child = childOf(node, step);
      if (!child) return node;
      node = child;
    }
    return node;
  };
  return {
    issues,
    json: {
      file,
      value,
      issue: (path, complaint) => ({ file, ...place(nearestNode(path).offset), path, ...complaint }),
      issueAtKey: (path, complaint) => {
        const node = nearestNode(path);
        const at = node.parent?.type === "property" ? node.parent : node;
        return { file, ...place(at.offset), path, ...complaint };
      },
      at: (path) => {
        let here = value;
        for (const step of path) {
          if (typeof here !== "object" || here === null || !Object.hasOwn(here, step)) return undefined;
          here = (here as Record<string | number, unknown>)[step];
        }
        return here;
      },
    },
  };
}

/** Only what is used of it, so that neither Node's types nor a browser's are needed: both have it. */
declare const TextDecoder: {
  new (label: "utf-8", options: { fatal: true }): { decode(bytes: Uint8Array): string };
};

/** Without a byte-order mark; null if the bytes are not UTF-8. */
function decodeUtf8(bytes: Uint8Array): string | null {
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    return null;
  }
}

function encodingGuess(bytes: Uint8Array): string {
  const [first, second] = bytes;
  if ((first === 0xff && second === 0xfe) || (first === 0xfe && second === 0xff)) return "UTF-16";
  return bytes.subarray(0, 1000).includes(0) ? "bytes that are no text" : "bytes that are not UTF-8";
}

function lineStarts(text: string): number[] {
  const starts = [0];
  for (let at = text.indexOf("\n"); at !== -1; at = text.indexOf("\n", at + 1)) starts.push(at + 1);
  return starts;
}

function lineAndColumn(starts: readonly number[], offset: number): { line: number; column: number } {
  let low = 0;
  let high = starts.length;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((starts[middle] as number) <= offset) low = middle;
    else high = middle;
  }
  return { line: low + 1, column: offset - (starts[low] as number) + 1 };
}

/** Kinds of token by jsonc-parser's numbers: its own names are erased when each file is compiled alone. */
const OPEN_BRACE = 1;
const CLOSE_BRACE = 2;
const OPEN_BRACKET = 3;
const CLOSE_BRACKET = 4;
const END = 17;

/** Depth and number of tokens, without recursion: the parser has one. */
function overLimit(text: string): (Complaint & { offset: number }) | null {
  const scanner = createScanner(text, true);
  let depth = 0;
  let tokens = 0;
  for (let kind = scanner.scan(); kind !== END; kind = scanner.scan()) {
    if (++tokens > TOKENS_MAX)
      return {
        expected: `at most ${TOKENS_MAX} words and signs`,
        received: "more",
        remedy: "name a scenario file",
        offset: scanner.getTokenOffset(),
      };
    if (kind === OPEN_BRACE || kind === OPEN_BRACKET) depth++;
    else if (kind === CLOSE_BRACE || kind === CLOSE_BRACKET) depth--;
    if (depth > DEPTH_MAX)
      return {
        expected: `objects and lists at most ${DEPTH_MAX} deep`,
        received: "deeper ones",
        remedy: "look for a bracket that is opened again and again",
        offset: scanner.getTokenOffset(),
      };
  }
  return null;
}

const SYNTAX: Readonly<Record<string, readonly [expected: string, remedy: string]>> = {
  InvalidSymbol: ["a JSON value", "write texts in double quotes; numbers, true, false and null without"],
  InvalidNumberFormat: ["a number", "write it with digits, a point and an exponent at most, such as -4.2"],
  PropertyNameExpected: ["a key in double quotes", "put the key in double quotes"],
  ValueExpected: ["a value", "write a value here, or take the key or the comma away"],
  ColonExpected: ["a colon after the key", "put a colon between key and value"],
  CommaExpected: ["a comma", "put a comma between this and the one before"],
  CloseBraceExpected: ["a closing brace }", "close the object"],
  CloseBracketExpected: ["a closing bracket ]", "close the list"],
  EndOfFileExpected: ["the end of the file", "take away what stands after the last brace"],
  InvalidCommentToken: ["a comment // or /* */", "write comments with // or /* */"],
  UnexpectedEndOfComment: ["the end of a comment", "close the comment with */"],
  UnexpectedEndOfString: ["the end of a text", "close the text with a double quote"],
  UnexpectedEndOfNumber: ["the rest of a number", "finish the number"],
  InvalidUnicode: ["four hexadecimal digits after \\u", "write \\u with four hexadecimal digits"],
  InvalidEscapeCharacter: ['one of \\" \\\\ \\/ \\b \\f \\n \\r \\t \\u', "double the backslash"],
  InvalidCharacter: ["no control characters in a text", "write it as an escape, such as \\t"],
};

function syntaxIssues(
  file: string,
  text: string,
  errors: readonly ParseError[],
  place: (offset: number) => { line: number; column: number },
): Issue[] {
  if (text.trim() === "")
    return [
      {
        file,
        line: 1,
        column: 1,
        path: [],
        expected: "an object",
        received: "an empty file",
        remedy: "write a scenario in it",
      },
    ];
  return errors.slice(0, SYNTAX_ISSUES_MAX).map(({ error, offset, length }) => {
    const [expected, remedy] = SYNTAX[printParseErrorCode(error)] ?? ["JSON", "correct it"];
    const found = text.slice(offset, offset + Math.max(1, Math.min(length, 30)));
    const received = offset >= text.length ? "the end of the file" : quote(found);
    return { file, ...place(offset), path: [], expected, received, remedy };
  });
}

/** The value, in objects without a prototype: a key such as `constructor` is a key like any other. */
function build(node: Node, path: Path, report: (node: Node, path: Path, complaint: Complaint) => void): unknown {
  if (node.type === "array") return (node.children ?? []).map((child, index) => build(child, [...path, index], report));
  if (node.type !== "object") return node.value;
  const object: Record<string, unknown> = Object.create(null);
  const seen = new Set<string>();
  for (const property of node.children ?? []) {
    const [keyNode, valueNode] = property.children ?? [];
    if (!keyNode || !valueNode) continue;
    const key: string = keyNode.value;
    const here = [...path, key];
    if (key === "__proto__") {
      report(property, here, { expected: "a key that is known here", received: quote(key), remedy: "take it away" });
      continue;
    }
    if (seen.has(key))
      report(property, here, {
        expected: "each key once",
        received: `${quote(key)} again`,
        remedy: "keep one of the two",
      });
    seen.add(key);
    object[key] = build(valueNode, here, report);
  }
  return object;
}

function indexed(node: Node): Map<string | number, Node> {
  const map = new Map<string | number, Node>();
  (node.children ?? []).forEach((child, index) => {
    if (node.type === "array") map.set(index, child);
    else {
      const [key, value] = child.children ?? [];
      if (key && value) map.set(key.value, value);
    }
  });
  return map;
}
