/** Opens the page: the run that it holds, if it holds one, and the room in which people go on from there. */
import "./style.css";
import "./room/room.css";
import { h } from "./dom.ts";
import { hostOf } from "./engine/host.ts";
import { partsFor } from "./parts.ts";
import { openRoom } from "./room/room.ts";
import { readRun } from "./run.ts";
import { themeStyle } from "./theme.ts";

document.head.append(h("style", {}, themeStyle()));
const place = document.querySelector("#page");
const read = readRun(document);
if (place !== null) {
  if (read !== null && "problem" in read) place.append(h("p", { class: "problem" }, read.problem));
  else
    openRoom({
      place,
      host: hostOf(document),
      parts: partsFor,
      run: read?.run ?? null,
      storage: () => localStorage,
    });
}
