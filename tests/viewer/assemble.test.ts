/** How modules that share one become scripts of one page: each keeps its names, and nothing that changes is shared. */
import { runInNewContext } from "node:vm";
import { parseAst } from "vite";
import { describe, expect, test } from "vitest";
import { reassigned } from "../../viewer/assemble/reassigned.ts";
import { scriptOf } from "../../viewer/assemble/scripts.ts";

const changing = (code: string, ...names: string[]) => [...reassigned(parseAst(code), new Set(names))];

describe("scripts that stand on others", () => {
  const common = scriptOf(
    "common",
    "let count=0;const next=()=>++count;class Room{}export{next,Room as t};",
    new Map(),
  );
  const on = (code: string, id = "on") => scriptOf(id, code, new Map([["common-1.js", common]]));
  const page = on(
    'import{next as e,t as n}from"./common-1.js";globalThis.page=[e(),new n().constructor.name,typeof next];',
    "page",
  );
  const engine = on('import{next as a}from"./common-1.js";const b=a();globalThis.engine=b;export{b as c};', "engine");
  const before = new Map([
    ["common-1.js", common],
    ["engine-1.js", engine],
  ]);
  const last = scriptOf(
    "last",
    'import{t as a}from"./common-1.js";import{c}from"./engine-1.js";globalThis.last=a.name+c;',
    before,
  );

  test("run one after the other they share one state, under names of their own", () => {
    const realm: { page?: unknown[]; engine?: number; last?: string; b?: unknown } = {};
    runInNewContext(`${common.script}\n${page.script}`, realm);
    runInNewContext(engine.script, realm);
    runInNewContext(last.script, realm);
    expect(realm.page).toEqual([1, "Room", "undefined"]);
    expect(realm.engine).toBe(2);
    expect(realm.last).toBe("Room2");
    expect(realm.b).toBeUndefined();
  });

  test("are strict, as modules are", () => {
    expect(() => runInNewContext(on("undeclared=1;export{};").script)).toThrow("undeclared");
  });

  test.each([
    ["a module of another name", () => on('import{next as a}from"./other.js";a();')],
    ["all of it at once", () => on('import*as a from"./common-1.js";a.next();')],
    ["what it does not export", () => on('import{a}from"./common-1.js";a();')],
    ["an export of another's", () => on('export{a}from"./other.js";')],
    ["an export of a declaration", () => on("export const a=1;")],
  ])("refuse %s", (_what, make) => {
    expect(make).toThrow("Cannot be put into a script");
  });

  test("an export that is assigned anew is refused, since an importer would keep its first value", () => {
    expect(() => on("let mode=0;const set=(to)=>{mode=to};export{mode as t,set as n};")).toThrow("mode");
  });
});

describe("what is assigned anew", () => {
  test.each([
    ["by a function", "let a;function set(){a=1}"],
    ["in steps", "let a=0;const next=()=>a++;"],
    ["by a pattern", "let a;const set=(b)=>{[{c:a}]=b};"],
    ["by a pattern's rest", "let a;const set=(b)=>{({c,...a}=b)};let c;"],
    ["by a loop", "let a;const run=(all)=>{for(a of all);};"],
    ["beside a block that has one of that name", "let a;function set(){{let a;a=1}a=2}"],
    ["before a parameter of that name is in force", "let a;(a=>a)(a??={});"],
    ["where a sibling function has a var of that name", "let a;function one(){var a;a=1}function set(){a=1}"],
  ])("%s", (_how, code) => {
    expect(changing(code, "a")).toEqual(["a"]);
  });

  test.each([
    ["a parameter", "let a;const f=(a)=>{a=1};"],
    ["a parameter in a pattern, with a default", "let a;function f({b:[a=1]}){a=2}"],
    ["a var further down", "let a;function f(){if(b){a=1}for(var a of b);}let b;"],
    ["a let of the block", "let a;{let a;a=1}"],
    ["a let of a loop", "let a;for(let a=0;a<1;a++);"],
    ["what was caught", "let a;try{}catch(a){a=1}"],
    ["a case of a switch", "let a;switch(1){case 1:let a;a=1}"],
    ["a function inside", "let a;function f(){a=1;function a(){}}"],
    ["a property", "const a={};a.b=1;"],
    ["another", "let a,b;b=1;"],
  ])("not %s", (_what, code) => {
    expect(changing(code, "a")).toEqual([]);
  });
});
