/** The lessons with the lanes alone, which play scenarios themselves; or, where a test asks for it, in the room. */
/// <reference types="vite/client" />
import "../../viewer/style.css";
import "../../viewer/room/room.css";
import { readScenario } from "../../shared/scenario.ts";
import { lanesOf } from "../../sim/lanes/lane.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { h } from "../../viewer/dom.ts";
import { play as playHere } from "../../viewer/engine/play.ts";
import { shippedLessons } from "../../viewer/lessons/in-room.ts";
import { type LessonsApi, lessonsPart } from "../../viewer/lessons/lessons.ts";
import type { PageContext } from "../../viewer/page.ts";
import { partsFor } from "../../viewer/parts.ts";
import { firstSight } from "../../viewer/room/first-sight.ts";
import { openRoom } from "../../viewer/room/room.ts";
import { shipped } from "../../viewer/room/shipped.ts";
import { createWorkspace } from "../../viewer/room/workspace.ts";
import type { Run } from "../../viewer/run.ts";
import { slipsOf } from "../../viewer/slips.ts";
import { createStore } from "../../viewer/store.ts";
import { themeStyle } from "../../viewer/theme.ts";
import { curveView } from "../../viewer/views/curve.ts";
import { showPart } from "../../viewer/views/show.ts";

const page = document.querySelector("#page")!;
const lanes = h("div", { id: "lanes" });
const opened: string[] = [];
const stores: PageContext["store"][] = [];
/** What a test may ask and set. */
const harness = { opened, isFailing: false, look: () => stores.at(-1)?.look() };
Object.assign(window, { harness });
document.head.append(h("style", {}, themeStyle()));

function play(scenario: string): Run {
  if (harness.isFailing) throw new Error("there is no engine");
  const { texts, main } = shipped(scenario);
  const bytes = (name: string) => new TextEncoder().encode(texts[name.replace(/^\.\//, "")]);
  const { plan } = readScenario({ file: main, bytes: bytes(main) }, (name) => ({ bytes: bytes(name) }));
  if (plan === null) throw new Error(`${scenario} cannot be read`);
  const run = rehearse(plan);
  return { ...run, format: 1, telling: tell(run) } as Run;
}

/** The page's own live region, which the room has for all its parts. */
function announce(text: string): void {
  const live = document.querySelector("#said") ?? document.createElement("p");
  live.id = "said";
  live.setAttribute("role", "status");
  live.textContent = text;
  if (!live.isConnected) document.body.append(live);
}

function noEngine(): never {
  throw new Error("runs are played here, by the harness itself");
}

const api: LessonsApi = {
  lessons: shippedLessons(),
  rehearse: async (scenario) => play(scenario),
  async open(scenario) {
    opened.push(scenario);
    const run = play(scenario);
    const store = createStore(run.summary.runSeconds, 0);
    stores.push(store);
    const room: PageContext["room"] = {
      workspace: createWorkspace(),
      changed: { since: () => null, marks: () => new Map(), compareWith: () => null },
      open: async () => null,
      edit() {},
      editFiles: () => null,
      newEngine: noEngine,
    };
    const context: PageContext = {
      ...{ run, lanes: lanesOf(run), slips: slipsOf(run), store, room, announce },
      whenWhole: (act) => act({ curveView, letGo() {} }),
    };
    lanes.replaceChildren(showPart(context));
    part.drawn(context);
    return context;
  },
  show(isShown) {
    document.documentElement.classList.toggle("lesson-asks", !isShown);
    if (isShown) dispatchEvent(new Event("resize"));
  },
  storage: () => localStorage,
};
const part = lessonsPart(api);

function inRoom(): void {
  openRoom({
    sight: firstSight(page, null),
    host: {
      makeWorker() {
        throw new Error("no workers here");
      },
      playHere: (request, answer) =>
        harness.isFailing
          ? answer({ id: request.id, is: "failed", problem: "the engine broke down" })
          : playHere(request, answer),
    },
    parts: partsFor,
    storage: () => localStorage,
  });
}

if ("isInRoom" in window) inRoom();
else page.append(part.element, lanes);
