/**
 * The rig as three tables, above the run: devices, cables, feeds, what is still to say, and what the plan check says.
 * The rig map stands beside them while they are open.
 */
import "./tables.css";
import type { Finding } from "../../shared/finding.ts";
import type { Issue, Path } from "../../shared/issues.ts";
import { EditError } from "../../shared/json-text.ts";
import { type Change, type RigFiles, rigFilesOf, changed as withChanges } from "../../sim/rig-files.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { shapeOf } from "../../sim/tables/columns.ts";
import { readCell } from "../../sim/tables/values.ts";
import { counted } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";
import type { Room } from "../page.ts";
import { labelled } from "../room/event-form.ts";
import { gravestFirst, revealFinding, WEIGHT_WORDS } from "../views/findings.ts";
import { type Bench, benchOf, perTable, RIG_TABLES, type RigTable } from "./bench.ts";
import { type GridHost, rigGrid } from "./grid.ts";
import { issueWords, type Place, pathInRig, placeOf, placeOfFinding, questionsOf } from "./notes.ts";
import { type Pasted, pasted, type Spot } from "./paste.ts";

export interface TablesPane {
  readonly element: HTMLElement;
  open(): void;
  /** Of a part that has been drawn: the map stands beside the tables while they are open. */
  placeMap(part: HTMLElement): void;
  /** What is wrong with the files that were played last; none: they were played. */
  setIssues(issues: readonly Issue[]): void;
  setFindings(findings: readonly Finding[]): void;
  /** Goes to the cell that an issue is about; false: none is shown for it. */
  goTo(issue: Issue): boolean;
}

const RATE = shapeOf("show").columns.find(({ key }) => key === "rig.sampleRateHz")!;

/** More than these are read below, where all of them stand. */
const FINDINGS_SHOWN = 6;

const KEYS =
  "Arrow keys go from cell to cell, Tab to the next; Enter or a letter begins to edit, Escape gives up. Delete clears a cell. Ctrl and Enter begins a row, Ctrl and Delete removes one. Paste puts a list from a spreadsheet in from where you are. Escape leaves a table.";

/** @param element a fold with its head, which it fills */
export function tablesPane(room: Room, element: HTMLDetailsElement): TablesPane {
  const { workspace } = room;
  let rigFiles: RigFiles | null = null;
  let bench: Bench | null = null;
  let issues: readonly { readonly place: Place; readonly words: string }[] = [];
  let given: readonly Issue[] = [];
  let advice: readonly { readonly place: Place | null; readonly finding: Finding; readonly index: number }[] = [];
  let findings: readonly Finding[] = [];

  const host: GridHost = {
    bench: () => bench,
    issueAt: (table, index, key) => {
      const found = issues.filter(({ place }) => isAt(place, table, index, key)).map(({ words }) => words);
      return found.length === 0 ? null : [...new Set(found)].join(" ");
    },
    adviceAt: (table, index, key) => {
      const found = advice.filter(({ place }) => place !== null && isAt(place, table, index, key));
      return found.length === 0 ? null : found.map(({ finding }) => `${finding.what} ${finding.remedy}`).join(" ");
    },
    change: room.editFiles,
    paste,
  };
  const grids = perTable((table) => rigGrid(table, host));
  let last: RigTable = "devices";
  for (const table of RIG_TABLES)
    grids[table].element.addEventListener("focusin", () => {
      last = table;
    });

  const questions = h("ul", { class: "tables-asks", "aria-label": "Still to say" });
  const checks = h("div", { class: "tables-check" });
  const problem = h("p", { class: "form-problem", role: "alert" });
  /** What came of the last paste, until something else is changed. */
  const told = h("div", { class: "tables-told", role: "status" });
  let toldOf: ScenarioTexts | null = null;
  const mapPlace = h("div", { class: "tables-map" });
  const title = field("title", 28, (text, { files }) => ({ file: files.main, path: ["title"], value: text }));
  const rate = field("sample rate", 9, (text, { rigFile, rigPath }) => {
    const { value } = readCell(RATE, text, "");
    return { file: rigFile, path: [...rigPath, "sampleRateHz"], value };
  });
  element.append(
    h(
      "div",
      { class: "tables-body" },
      h(
        "div",
        { class: "tables-side" },
        h("div", { class: "fields" }, labelled("Title", title), labelled("Sample rate (Hz)", rate)),
        pasteList(),
        h(
          "details",
          { class: "more-columns" },
          h("summary", {}, "Keys"),
          h("p", { id: "tables-keys", class: "meta" }, KEYS),
        ),
        problem,
        told,
        questions,
        ...RIG_TABLES.map((table) => grids[table].element),
      ),
      h("div", { class: "tables-beside" }, checks, mapPlace),
    ),
  );

  function update(): void {
    const files = workspace.files();
    element.hidden = files === null;
    if (files === null || !element.open) return;
    if (files !== toldOf) told.replaceChildren();
    bench = rigIn(files);
    for (const table of RIG_TABLES) grids[table].element.hidden = bench === null;
    if (bench === null || rigFiles === null) return;
    place();
    questions.replaceChildren(...questionsOf(bench).map((text) => h("li", {}, text)));
    if (document.activeElement !== title) title.value = String(rigFiles.scenario.title ?? "");
    if (document.activeElement !== rate) rate.value = String(rigFiles.rig.sampleRateHz ?? "");
    for (const table of RIG_TABLES) grids[table].draw();
  }
  /** Null, and said, where the file that the rig stands in is not open. */
  function rigIn(files: ScenarioTexts): Bench | null {
    try {
      rigFiles = rigFilesOf(files);
      problem.textContent = "";
      return benchOf(rigFiles);
    } catch (error) {
      if (!(error instanceof EditError)) throw error;
      problem.textContent = error.message;
      return null;
    }
  }
  /** Where issues and findings stand, by the rig as it is now. */
  function place(): void {
    if (rigFiles === null) return;
    const { rig } = rigFiles;
    issues = given.flatMap((issue) => {
      const found = placeFor(issue);
      return found === null ? [] : [{ place: found, words: issueWords(rig, found, issue) }];
    });
    advice = gravestFirst(findings).map((finding) => ({
      place: placeOfFinding(rig, finding.path),
      finding,
      index: findings.indexOf(finding),
    }));
    drawChecks();
  }
  function placeFor(issue: Pick<Issue, "file" | "path">): Place | null {
    const path: Path | null = rigFiles === null ? null : pathInRig(rigFiles, issue);
    return path === null || rigFiles === null ? null : placeOf(rigFiles.rig, path);
  }
  function drawChecks(): void {
    const shown = advice.slice(0, FINDINGS_SHOWN);
    const rest = advice.length - shown.length;
    checks.replaceChildren(
      h("h3", {}, given.length === 0 ? "The check says" : "The check said of the run before"),
      shown.length === 0
        ? h("p", { class: "none" }, "Nothing about this plan.")
        : h(
            "ul",
            {},
            ...shown.map(({ place: at, finding, index }) => {
              const show = h("button", { type: "button" }, at === null ? "Read it" : "Show");
              show.setAttribute("aria-label", `${show.textContent}: ${finding.what}`);
              show.addEventListener("click", () => (at === null ? revealFinding(index) : goToPlace(at)));
              return h("li", {}, h("strong", {}, `${WEIGHT_WORDS[finding.severity]}:`), ` ${finding.what} `, show);
            }),
          ),
      rest > 0 ? h("p", { class: "meta" }, `and ${counted(rest, "other", "others")}, under Findings`) : "",
    );
  }
  function goToPlace({ table, index, key }: Place): void {
    grids[table].focus(index, key);
    document.activeElement?.scrollIntoView({ block: "center", inline: "nearest" });
  }

  function field(what: string, size: number, changeOf: (text: string, files: RigFiles) => Change): HTMLInputElement {
    const input = h("input", { size, autocomplete: "off", spellcheck: false });
    input.addEventListener("change", () => {
      const wrong = room.editFiles(what, (files) =>
        withChanges(files, [changeOf(input.value.trim(), rigFilesOf(files))]),
      );
      problem.textContent = wrong ?? "";
    });
    return input;
  }

  function paste(text: string, spot: Spot): void {
    let made: Pasted | null = null;
    let wrong = null;
    try {
      made = pasted(workspace.files() ?? { main: "", texts: {} }, text, spot);
    } catch (error) {
      if (!(error instanceof EditError)) throw error;
      wrong = error.message;
    }
    const { files, what, says } = made ?? { files: null, what: "", says: [] };
    if (files !== null) wrong = room.editFiles(what, () => files);
    problem.textContent = wrong ?? "";
    told.replaceChildren(...(wrong === null ? says : []).map((text) => h("p", {}, text)));
    toldOf = workspace.files();
  }
  /** For hands without a spreadsheet's keys, and for lists that say by their headings where they belong. */
  function pasteList(): HTMLElement {
    const text = h("textarea", {
      rows: 6,
      spellcheck: false,
      "aria-label": "A list with its headings, or rows for the table you were in",
    });
    const fold = h("details", { class: "paste-list" }, h("summary", {}, "Paste a list"), text);
    const put = h("button", { type: "button", class: "main-button" }, "Put it into the rig");
    put.addEventListener("click", () => {
      if (text.value.trim() === "") return text.focus();
      paste(text.value, grids[last].spot());
      if (problem.textContent === "") text.value = "";
      text.focus();
    });
    fold.append(put);
    return fold;
  }

  /** Keeps the map's place among the parts. */
  const instead = document.createComment("the rig map");
  function placeMap(part: HTMLElement): void {
    if (part.id !== "map" || mapPlace.contains(part) === element.open) return;
    if (element.open) {
      part.replaceWith(instead);
      mapPlace.append(part);
    } else instead.replaceWith(part);
    // It is as wide as its place.
    dispatchEvent(new Event("resize"));
  }

  workspace.subscribe(update);
  element.addEventListener("toggle", () => {
    update();
    const map = document.querySelector<HTMLElement>("#map");
    if (map !== null) placeMap(map);
  });

  return {
    element,
    placeMap,
    open() {
      element.open = true;
      update();
      grids.devices.focus(null, null);
    },
    setIssues(next) {
      given = next;
      update();
    },
    setFindings(next) {
      findings = next;
      update();
    },
    goTo(issue) {
      const found = element.open ? placeFor(issue) : null;
      if (found !== null) goToPlace(found);
      return found !== null;
    },
  };
}

function isAt(place: Place, table: RigTable, index: number, key: string | null): boolean {
  return place.table === table && place.index === index && place.key === key;
}
