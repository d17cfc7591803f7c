/** What one takes along from the page: a picture, the record as a table, a link to the same view, paper. */
import "../print.css";
import "./takeaway.css";
import { BUTTONS, CHART_KEYS, type ChartKey } from "../curves/charts.ts";
import { h, part } from "../dom.ts";
import { hurtPicture } from "../hurt/picture.ts";
import type { PageContext } from "../page.ts";
import { saveFile, stem } from "../save-file.ts";
import { recordCsv } from "./csv.ts";
import { curvePicture } from "./curve-picture.ts";
import { lanesPicture } from "./lanes-picture.ts";
import { formatLook, parseLook } from "./link.ts";
import { mapPicture } from "./map-picture.ts";
import { pngOf, SCALES } from "./png.ts";
import { safetyWords } from "./safety.ts";
import type { Picture } from "./sheet.ts";
import { svgText } from "./standalone.ts";

const SUBJECTS = {
  lanes: "Lanes, as they are shown",
  map: "Rig map, at the cursor",
  hurt: "What can hurt, as it is listed",
  ...Object.fromEntries(CHART_KEYS.map((key) => [key, `Curve: ${BUTTONS[key]}`])),
} as Readonly<Record<Subject, string>>;
type Subject = "lanes" | "map" | "hurt" | ChartKey;

/** What the address asked for last: each asks once, or a look would come back at every edit. */
let askedBefore = "";

export function takeAwayPart(context: PageContext): HTMLElement {
  openAsked(context);
  addEventListener("hashchange", () => openAsked(context));

  const said = h("p", { class: "take-said" });
  const say = (text: string) => {
    said.textContent = text;
    context.announce(text);
  };
  const select = h("select", {}, ...Object.entries(SUBJECTS).map(([value, words]) => h("option", { value }, words)));
  const withPicture = (take: (picture: Picture, subject: Subject) => Promise<void> | void) => async () => {
    const subject = select.value as Subject;
    say("Being drawn.");
    const picture = await pictureOf(context, subject);
    if (picture === null)
      say(
        subject === "hurt"
          ? "No fault was tried yet: press Try every fault, under What can hurt."
          : "There is nothing of that in this run to draw.",
      );
    else await take(picture, subject);
  };
  const saved = (name: string, content: Blob) => say(saveFile(name, content));
  const asSvg = withPicture((picture, subject) => {
    saved(`${stem(context)}-${subject}.svg`, new Blob([svgText(picture.drawing)], { type: "image/svg+xml" }));
  });
  const asPng = (scale: number) =>
    withPicture(async (picture, subject) => {
      const pixels = await pngOf(picture, scale);
      if (pixels === null) say(`At ${scale}× it is larger than browsers draw. Take it smaller, or as SVG.`);
      else saved(`${stem(context)}-${subject}-${scale}x.png`, pixels);
    });

  const address = h("input", { type: "text", readonly: true, "aria-label": "Link to this view", hidden: true });
  const link = async () => {
    const hash = formatLook(context.store.look());
    askedBefore = hash;
    history.replaceState(null, "", hash);
    address.value = location.href;
    address.hidden = false;
    address.select();
    const isCopied = await copied(address.value);
    say(
      `${isCopied ? "Copied. " : ""}The link opens this window, cursor and lane wherever the same page is open; the plan is not in it.`,
    );
  };
  const csv = () => {
    const { run, lanes } = context;
    saved(`${stem(context)}-record.csv`, new Blob([recordCsv(run, lanes.all)], { type: "text/csv" }));
  };

  return part(
    "take-away",
    "Take away",
    h(
      "div",
      { class: "take" },
      h("label", { class: "choice" }, "Picture of", select),
      h(
        "div",
        { class: "take-buttons", role: "group", "aria-label": "Save the picture" },
        button("Picture (SVG)", asSvg),
        ...SCALES.map((scale) => button(`Picture (PNG ${scale}×)`, asPng(scale))),
      ),
      h(
        "div",
        { class: "take-buttons" },
        button("CSV of the record", csv),
        button("Link to this view", link),
        button("Print", () => print()),
      ),
      address,
      said,
    ),
    safetyWords(),
  );
}

function button(label: string, action: () => unknown): HTMLButtonElement {
  const made = h("button", { type: "button" }, label);
  made.addEventListener("click", () => void action());
  return made;
}

async function pictureOf(context: PageContext, subject: Subject): Promise<Picture | null> {
  if (subject === "lanes") return lanesPicture(context);
  if (subject === "hurt") return hurtPicture(context);
  return subject === "map" ? mapPicture(context) : curvePicture(context, subject);
}

/** Takes the look out of the address, where there is one that was not taken before. */
function openAsked({ store, lanes }: PageContext): void {
  const { hash } = location;
  if (hash === askedBefore) return;
  askedBefore = hash;
  const asked = parseLook(hash);
  if (asked === null) return;
  const { lane, ...rest } = asked;
  const isKnown = lane !== undefined && lanes.all.some(({ key }) => key === lane);
  store.set({ ...rest, event: null, ...(isKnown ? { lane } : {}) });
}

/** Some browsers let a page near the clipboard only where it came over an encrypted way. */
async function copied(text: string): Promise<boolean> {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    return false;
  }
}
