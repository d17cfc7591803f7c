/** Opens the page: what people wait for at once, and the rest when that is on the screen. */
import "./style.css";
import "./room/room.css";
import { afterFrame } from "./after-frame.ts";
import { h } from "./dom.ts";
import { runHeld } from "./held-scripts.ts";
import { firstSight } from "./room/first-sight.ts";
import { handOver } from "./room/hand-over.ts";
import { readRun } from "./run.ts";
import { themeStyle } from "./theme.ts";

document.head.append(h("style", {}, themeStyle()));
const place = document.querySelector("#page");
const read = readRun(document);
if (read !== null && "problem" in read) place?.append(h("p", { class: "problem" }, read.problem));
else if (place !== null) {
  const rest = () => {
    if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", rest);
    else runHeld(document, "rest");
  };
  // Paper has no other frame. Before the views hear of it, which are drawn by this.
  addEventListener("beforeprint", rest);
  const run = read?.run ?? null;
  handOver(firstSight(place, run));
  // A link into the page goes to a place that is to come.
  if (run === null || location.hash !== "") rest();
  else afterFrame(rest);
}
