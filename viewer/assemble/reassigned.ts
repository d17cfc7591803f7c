/** Which bindings of a script's top level are assigned anew after their declaration: an export of these is not one value. */
import type { ESTree } from "vite";

interface Node {
  readonly type: string;
  readonly [part: string]: unknown;
}

/** Those of `names` that anything in the script assigns to, innermost declaration first, as the language has it. */
export function reassigned(program: ESTree.Program, names: ReadonlySet<string>): Set<string> {
  const found = new Set<string>();
  const visit = (node: Node, hidden: ReadonlySet<string>) => {
    const own = node.type === "Program" ? [] : declaredBy(node).filter((name) => names.has(name));
    const inner = own.length === 0 ? hidden : new Set([...hidden, ...own]);
    for (const name of assignedBy(node)) if (names.has(name) && !inner.has(name)) found.add(name);
    for (const child of childrenOf(node)) visit(child, inner);
  };
  visit(program as unknown as Node, new Set());
  return found;
}

function assignedBy(node: Node): string[] {
  if (node.type === "AssignmentExpression") return namesIn(node.left);
  if (node.type === "UpdateExpression") return namesIn(node.argument);
  if (node.type === "ForInStatement" || node.type === "ForOfStatement") return namesIn(node.left);
  return [];
}

const isFunction = ({ type }: Node) => /^(ArrowFunctionExpression|FunctionDeclaration|FunctionExpression)$/.test(type);

/** What is declared in the scope that a node opens. */
function declaredBy(node: Node): string[] {
  if (isFunction(node)) {
    const params = (node.params as readonly Node[]).flatMap(namesIn);
    return [...(node.type === "FunctionExpression" ? namesIn(node.id) : []), ...params, ...varsIn(node.body as Node)];
  }
  switch (node.type) {
    case "ClassExpression":
      return namesIn(node.id);
    case "CatchClause":
      return namesIn(node.param);
    case "BlockStatement":
    case "StaticBlock":
      return (node.body as readonly Node[]).flatMap(lexical);
    case "SwitchStatement":
      return (node.cases as readonly Node[]).flatMap(({ consequent }) =>
        (consequent as readonly Node[]).flatMap(lexical),
      );
    case "ForStatement":
      return lexical(node.init);
    case "ForInStatement":
    case "ForOfStatement":
      return lexical(node.left);
    default:
      return [];
  }
}

/** Of one statement: what it declares for its block; `var` is for the function. */
function lexical(statement: unknown): string[] {
  if (!isNode(statement)) return [];
  if (statement.type === "FunctionDeclaration" || statement.type === "ClassDeclaration") return namesIn(statement.id);
  return statement.type === "VariableDeclaration" && statement.kind !== "var" ? declared(statement) : [];
}

function varsIn(node: Node): string[] {
  if (isFunction(node)) return [];
  const own = node.type === "VariableDeclaration" && node.kind === "var" ? declared(node) : [];
  return [...own, ...childrenOf(node).flatMap(varsIn)];
}

function declared({ declarations }: Node): string[] {
  return (declarations as readonly Node[]).flatMap(({ id }) => namesIn(id));
}

/** The names that a pattern binds; none of an expression that is no pattern. */
function namesIn(pattern: unknown): string[] {
  if (!isNode(pattern)) return [];
  switch (pattern.type) {
    case "Identifier":
      return [pattern.name as string];
    case "ObjectPattern":
      return (pattern.properties as readonly Node[]).flatMap((part) => namesIn(part.value ?? part.argument));
    case "ArrayPattern":
      return (pattern.elements as readonly unknown[]).flatMap(namesIn);
    case "AssignmentPattern":
      return namesIn(pattern.left);
    case "RestElement":
      return namesIn(pattern.argument);
    default:
      return [];
  }
}

function childrenOf(node: Node): Node[] {
  return Object.values(node).flatMap((part) =>
    Array.isArray(part) ? part.filter(isNode) : isNode(part) ? [part] : [],
  );
}

function isNode(part: unknown): part is Node {
  return typeof part === "object" && part !== null && typeof (part as Partial<Node>).type === "string";
}
