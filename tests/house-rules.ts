/**
 * What one source file may not do, by its place in the house. Read from the syntax tree, so comments and strings are
 * free to speak of anything.
 */
import ts from "typescript";

export const folders = ["shared", "sim", "cli", "viewer", "tests"] as const;
export type Folder = (typeof folders)[number];

const mayImport: Record<Folder, readonly string[]> = {
  shared: ["shared"],
  sim: ["shared", "sim"],
  cli: ["shared", "sim", "cli", "package.json"],
  viewer: ["shared", "sim", "viewer"],
  tests: [...folders, "scenarios", "package.json"],
};

/** Packages in the pure folders: each has one door, so that what it is used for can be read in one place. */
const doors: Record<string, RegExp> = {
  zod: /^shared\/scenario[^/]*\.ts$/,
  // Files are read through one, and edited with their comments through the other.
  "jsonc-parser": /^shared\/(?:read-json|json-text)\.ts$/,
  seedrandom: /^shared\/random\.ts$/,
};

/** Exact by IEEE 754 or by the language itself. The others may differ in the last bit from engine to engine. */
const exactMath = new Set([
  "abs",
  "floor",
  "ceil",
  "round",
  "trunc",
  "sign",
  "min",
  "max",
  "imul",
  "clz32",
  "fround",
  "sqrt",
]);

/** Names that reach a clock, chance, the host, or another Math. */
const neverNames = new Set([
  "Date",
  "Temporal",
  "globalThis",
  "Intl",
  "eval",
  "Function",
  "WeakRef",
  "FinalizationRegistry",
]);

/** Of the host as well, but ordinary words: a file that declares one itself means its own. */
const hostNames = new Set([
  ...["performance", "process", "window", "self", "global", "document", "console", "navigator", "location", "crypto"],
  ...["require", "module", "Buffer", "fetch", "localStorage", "sessionStorage", "indexedDB", "WebSocket", "Worker"],
  ...["setTimeout", "setInterval", "setImmediate", "queueMicrotask", "requestAnimationFrame", "structuredClone"],
]);

/** Their answer depends on the language the machine is set to. */
const localeMembers = new Set([
  "localeCompare",
  "toLocaleString",
  "toLocaleDateString",
  "toLocaleTimeString",
  "toLocaleLowerCase",
  "toLocaleUpperCase",
]);

export const folderOf = (path: string) => path.split("/")[0] as Folder;

/**
 * Everything that a file imports, dynamic and type imports included: its own files as paths from the top ("shared/time.ts"),
 * packages by name, whatever of them is imported.
 */
export function importsOf(path: string, text: string): { files: string[]; packages: string[] } {
  const written = ts.preProcessFile(text, true, true).importedFiles.map((found) => found.fileName);
  const source = ts.createSourceFile(path, text, ts.ScriptTarget.Latest, true);
  // new URL("./name.ts", import.meta.url) is how a worker or a script is named.
  walk(source, (node) => {
    if (!ts.isNewExpression(node) || node.expression.getText() !== "URL") return;
    const [file, base] = node.arguments ?? [];
    if (file && ts.isStringLiteral(file) && /\.(ts|mjs)$/.test(file.text) && base?.getText() === "import.meta.url")
      written.push(file.text);
  });
  const own = written.filter((name) => name.startsWith("."));
  return {
    files: own.map((name) => new URL(name.replace(/\?.*$/, ""), `file:///${path}`).pathname.slice(1)),
    packages: written
      .filter((name) => !name.startsWith("."))
      .map((name) => name.replace(/^((?:@[^/]+\/)?[^/]+)\/.*$/, "$1")),
  };
}

/** One line per thing that this file does and must not, each with its place. */
export function problemsIn(path: string, text: string): string[] {
  const folder = folderOf(path);
  const { files, packages } = importsOf(path, text);
  const problems = files
    .filter((file) => !mayImport[folder].includes(file.split("/")[0] as string))
    .map((file) => `${path}: imports ${file}; ${folder} may import ${mayImport[folder].join(", ")}`);
  if (folder !== "shared" && folder !== "sim") return problems;

  for (const name of packages) {
    const door = doors[name];
    if (!door) problems.push(`${path}: imports ${name}; shared and sim are free of packages and of Node`);
    else if (!door.test(path)) problems.push(`${path}: imports ${name}, whose place is ${door.source}`);
  }

  const source = ts.createSourceFile(path, text, ts.ScriptTarget.Latest, true);
  const declared = declaredNames(source);
  const complain = (node: ts.Node, what: string) => {
    const { line, character } = source.getLineAndCharacterOfPosition(node.getStart());
    problems.push(`${path}:${line + 1}:${character + 1}: ${what}`);
  };
  walk(source, (node) => {
    if (ts.isIdentifier(node) && !isMemberName(node)) {
      if (neverNames.has(node.text)) complain(node, node.text);
      else if (hostNames.has(node.text) && !declared.has(node.text)) complain(node, node.text);
      else if (node.text === "Math" && !isExactMath(node.parent)) complain(node, node.parent.getText());
    }
    if (ts.isPropertyAccessExpression(node) && localeMembers.has(node.name.text)) complain(node.name, node.name.text);
    if (ts.isMetaProperty(node)) complain(node, node.getText());
    if (node.kind === ts.SyntaxKind.AsteriskAsteriskToken || node.kind === ts.SyntaxKind.AsteriskAsteriskEqualsToken)
      complain(node, "** (its result may differ in the last bit from engine to engine)");
  });
  return problems;
}

function isExactMath(node: ts.Node): boolean {
  return ts.isPropertyAccessExpression(node) && node.expression.getText() === "Math" && exactMath.has(node.name.text);
}

/** `name` in `thing.name`, `{ name: 1 }`, `interface { name: … }`: a word, no reference. `{ name }` is one. */
function isMemberName(node: ts.Identifier): boolean {
  const { parent } = node;
  if (ts.isPropertyAccessExpression(parent) || ts.isQualifiedName(parent))
    return (ts.isPropertyAccessExpression(parent) ? parent.name : parent.right) === node;
  if (ts.isBindingElement(parent)) return parent.propertyName === node;
  return (
    (ts.isPropertyAssignment(parent) ||
      ts.isPropertySignature(parent) ||
      ts.isPropertyDeclaration(parent) ||
      ts.isMethodSignature(parent) ||
      ts.isMethodDeclaration(parent) ||
      ts.isGetAccessorDeclaration(parent) ||
      ts.isNamedTupleMember(parent)) &&
    parent.name === node
  );
}

/** What the file itself declares or imports. `declare const …` only claims that something is there, so it does not count. */
function declaredNames(source: ts.SourceFile): Set<string> {
  const names = new Set<string>();
  walk(source, (node) => {
    const declares =
      ts.isVariableDeclaration(node) ||
      ts.isParameter(node) ||
      ts.isBindingElement(node) ||
      ts.isFunctionDeclaration(node) ||
      ts.isImportSpecifier(node) ||
      ts.isImportClause(node) ||
      ts.isNamespaceImport(node) ||
      ts.isTypeParameterDeclaration(node);
    if (declares && node.name && ts.isIdentifier(node.name) && !isAmbient(node)) names.add(node.name.text);
  });
  return names;
}

function isAmbient(node: ts.Node): boolean {
  return (ts.getCombinedModifierFlags(node as ts.Declaration) & ts.ModifierFlags.Ambient) !== 0;
}

function walk(node: ts.Node, visit: (node: ts.Node) => void): void {
  visit(node);
  ts.forEachChild(node, (child) => walk(child, visit));
}

/** The files that nothing reaches by imports from `entries`, among `sources` (path to text). */
export function unreached(sources: ReadonlyMap<string, string>, entries: Iterable<string>): string[] {
  const reached = new Set<string>();
  const open = [...entries];
  for (let path = open.pop(); path !== undefined; path = open.pop()) {
    const text = sources.get(path);
    if (text === undefined || reached.has(path)) continue;
    reached.add(path);
    open.push(...importsOf(path, text).files);
  }
  return [...sources.keys()].filter((path) => !reached.has(path)).sort();
}
