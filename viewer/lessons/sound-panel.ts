/** What a feed carries around the cursor, to be listened to: a warning first, a low volume, and a way to stop. */
import { counted, duration, listed, showTime } from "../../sim/tell/words.ts";
import { h, isolated } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { createPlayer, FIRST_VOLUME } from "./player.ts";
import {
  type Carried,
  carriedBy,
  DROPOUT_SECONDS,
  LOOPS,
  type Loop,
  rendered,
  stretchAround,
  TONE_HZ,
} from "./sound.ts";
import { wavBytes } from "./wav.ts";

export interface SoundPanel {
  readonly element: HTMLElement;
  /** Another run is drawn: what is heard is of that one from now on. */
  drawn(context: Pick<PageContext, "run" | "store">): void;
  stop(): void;
}

const LOOP_WORDS: Readonly<Record<Loop, string>> = {
  tone: `Tone, ${TONE_HZ} Hz: shows each click`,
  voice: "Voice-like loop: may hide some",
};

let panels = 0;

export function soundPanel(feedAtFirst: string, say: (text: string) => void): SoundPanel {
  panels += 1;
  const names = `sound-${panels}`;
  let context: Pick<PageContext, "run" | "store"> | null = null;
  let forget: () => void = () => {};
  let feed = feedAtFirst;
  let loop: Loop = "tone";

  const what = h("p", { class: "sound-what" });
  const feeds = h("select", { id: `${names}-feed` });
  const play = h("button", { type: "button", class: "main-button" }, "Play");
  const stop = h("button", { type: "button", "aria-disabled": "true" }, "Stop (Escape)");
  const save = h("button", { type: "button" }, "Save as WAV");
  const problem = h("p", { class: "sound-problem" });
  const volume = h("input", {
    id: `${names}-volume`,
    type: "range",
    min: 0,
    max: 100,
    step: 5,
    value: FIRST_VOLUME * 100,
  });
  const player = createPlayer(() => {
    stop.setAttribute("aria-disabled", "true");
    say("Stopped.");
  });

  const carried = (): Carried | null => {
    if (context === null) return null;
    const { run, store } = context;
    if (!run.plan.feeds.some(({ id }) => id === feed)) return null;
    const { from, seconds } = stretchAround(store.look().cursorSeconds, run.summary.runSeconds);
    return carriedBy(run, feed, from, seconds);
  };
  const describe = () => {
    const now = carried();
    what.textContent = now === null ? "This run has no such feed." : soundWords(now);
  };
  const loops = LOOPS.map((each) => {
    const input = h("input", { type: "radio", name: `${names}-loop`, value: each, checked: each === loop });
    input.addEventListener("change", () => {
      loop = each;
      player.stop();
    });
    return h("label", {}, input, ` ${LOOP_WORDS[each]}`);
  });
  feeds.addEventListener("change", () => {
    feed = feeds.value;
    player.stop();
    describe();
  });
  volume.addEventListener("input", () => player.setVolume(volume.valueAsNumber / 100));
  play.addEventListener("click", () => {
    const now = carried();
    if (now === null) return;
    void player.play(rendered(now, loop), now.sampleRateHz).then((trouble) => {
      problem.textContent = trouble ?? "";
      if (trouble !== null) return;
      stop.setAttribute("aria-disabled", "false");
      say(`Playing ${duration(now.seconds)}.`);
    });
  });
  stop.addEventListener("click", player.stop);
  save.addEventListener("click", () => {
    const now = carried();
    if (now === null) return;
    const bytes = wavBytes(rendered(now, loop), now.sampleRateHz);
    const address = URL.createObjectURL(new Blob([bytes], { type: "audio/wav" }));
    const at = showTime(now.fromSeconds).replaceAll(":", "-");
    h("a", { href: address, download: `${feed}-${at}-${loop}.wav` }).click();
    // The browser takes its time to fetch it.
    setTimeout(() => URL.revokeObjectURL(address), 60_000);
    say("Saved as WAV, in the folder where this browser keeps what it downloads.");
  });

  const element = h(
    "section",
    { class: "sound", "aria-label": "Listen" },
    h(
      "p",
      { class: "sound-warning" },
      h("strong", {}, "Speakers down, headphones off ears. "),
      "Outputs muted at the last device before any test tone. Play, then turn the volume up slowly.",
    ),
    h("p", { class: "sound-feed" }, h("label", { for: `${names}-feed` }, "What to listen to "), feeds),
    what,
    h("fieldset", {}, h("legend", {}, "In place of the programme"), ...loops),
    h("p", { class: "sound-volume" }, h("label", { for: `${names}-volume` }, "Volume, low at first "), volume),
    h("div", { class: "sound-buttons" }, play, stop, save),
    problem,
  );
  return {
    element,
    stop: player.stop,
    drawn(next) {
      player.stop();
      forget();
      context = next;
      feeds.replaceChildren(
        ...next.run.plan.feeds.map(({ id, name }) => h("option", { value: id, selected: id === feed }, isolated(name))),
      );
      forget = next.store.subscribe(describe);
      describe();
    },
  };
}

/** What is in the stretch, for those who read it instead: "From 00:00:06 to 00:00:14: four clicks." */
export function soundWords({ fromSeconds, seconds, slips, silences, jumps }: Carried): string {
  const toSeconds = fromSeconds + seconds;
  const isSilentAt = (at: number) => silences.some((each) => at >= each.fromSeconds && at < each.toSeconds);
  const silent = silences.reduce(
    (sum, each) => sum + Math.max(0, Math.min(each.toSeconds, toSeconds) - Math.max(each.fromSeconds, fromSeconds)),
    0,
  );
  const clicks = slips.filter(({ atSeconds }) => !isSilentAt(atSeconds)).length;
  const dropouts = jumps.filter((at) => !isSilentAt(at)).length;
  const parts = [
    ...(clicks > 0 ? [counted(clicks, "click", "clicks")] : []),
    ...(dropouts > 0 ? [counted(dropouts, "dropout", "dropouts")] : []),
    ...(silent >= seconds - 1e-9 ? ["silence"] : silent > 0 ? [`${duration(silent)} of silence`] : []),
  ];
  const what = parts.length === 0 ? "nothing but the sound itself" : listed(parts);
  const assumed = dropouts > 0 ? ` No plan says how long a dropout is: ${duration(DROPOUT_SECONDS)} are played.` : "";
  return `From ${showTime(fromSeconds)} to ${showTime(toSeconds)}: ${what}.${assumed}`;
}
