/** Tables as people type them: six devices, nine cables, six feeds, events and a patch sheet at Lantern Quay. */
import { describe, expect, test } from "vitest";
import { formatIssues } from "../../shared/issues.ts";
import type { Plan } from "../../shared/plan.ts";
import { check } from "../../sim/check/index.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { fromTexts, QUAY, quayFile, readText, thereAndBack } from "./sheets.ts";

const quay = fromTexts(Object.fromEntries(QUAY.map((name) => [name, quayFile(name)])));
const planOf = (text: string | null): Plan => readText(text as string).plan as Plan;

describe("Lantern Quay", () => {
  const plan = planOf(quay.text);

  test("is read without an issue, whatever the order of the files", () => {
    expect(formatIssues(quay.issues)).toEqual([]);
    expect([plan.devices.length, plan.links.length, plan.feeds.length]).toEqual([6, 9, 6]);
    const turned = fromTexts(Object.fromEntries([...QUAY].reverse().map((name) => [name, quayFile(name)])));
    expect(planOf(turned.text)).toEqual(plan);
  });

  test("an order of clock sources may be said as people say it", () => {
    const devices = quayFile("devices.csv").replace('"Stage box, own clock"', "Stage box then its own clock");
    expect(devices).toContain("then its own clock");
    const said = fromTexts({
      ...Object.fromEntries(QUAY.map((name) => [name, quayFile(name)])),
      "devices.csv": devices,
    });
    expect(formatIssues(said.issues)).toEqual([]);
    expect(planOf(said.text)).toEqual(plan);
  });

  test("a device whose name ends in a number has its port behind that", () => {
    const { text, issues } = fromTexts({
      "devices.csv": "Device,Leads,Listens to\nStage box 1,1,own clock\nStage box 2,,Stage box 1\n",
      "cables.csv": "Cable,From,To,Type\nlink,Stage box 1 2,Stage box 2 1,AES50\n",
    });
    expect(formatIssues(issues)).toEqual([]);
    const [link] = planOf(text).links;
    expect([link!.a, link!.b]).toEqual([
      { device: "stage-box-1", port: 2 },
      { device: "stage-box-2", port: 1 },
    ]);
  });

  test("names, units, lists and words are understood", () => {
    const device = (id: string) => plan.devices.find((each) => each.id === id);
    const link = (id: string) => plan.links.find((each) => each.id === id);
    expect(plan.leaders).toEqual(["foh-desk", "monitor-desk"]);
    expect(device("stage-box")).toMatchObject({ kind: "stage-box", clockSources: ["1", "2"], name: "Stage box" });
    expect(device("monitor-desk")).toMatchObject({ clockSources: ["1", "internal"], bootSeconds: 72 });
    expect(link("Mon")).toMatchObject({ lengthMetres: 15.24, hasReturn: true, type: "madi" });
    expect(link("Spare")).toMatchObject({ lengthMetres: 95.5, laidAlong: ["stage-right wall"] });
    expect(link("matrix-to-wing")).toMatchObject({ lengthMetres: 12.192, type: "aes3" });
    expect(plan.spares).toMatchObject([{ links: ["Main", "Spare"] }]);
    expect(plan.feeds.find(({ id }) => id === "in-ear-mix")?.hops).toMatchObject([{ channels: 4 }]);
    expect(plan.feeds.find(({ id }) => id === "in-ear-mix")?.heardBy).toEqual(["in-ears"]);
  });

  test("what no field holds stands in the file as comments, and what nobody said is marked and asked", () => {
    expect(quay.provisional).toEqual(["recorder"]);
    expect(quay.text).toContain("// Provisional: Does it lead? What does it listen to?");
    expect(quay.text).toContain("// Owner: guest");
    expect(quay.text).toContain("3 Lead vocal, socket 3 (Mic: handheld)");
    expect(quay.keptAsComments.map(({ heading }) => heading)).toEqual(["Owner", "Colour", "Mic", "Stand"]);
    expect(plan.devices.find(({ id }) => id === "recorder")?.clockSources).toEqual(["1"]);
  });

  test("the leader reboots: the PA is silent for its boot, the box goes by its own clock, the in-ears have one dropout", () => {
    expect(plan.events.map(({ do: what }) => what)).toEqual(["reboot", "unplug", "plug"]);
    const { summary } = rehearse({ ...plan, events: plan.events.slice(0, 1) });
    const feed = (id: string) => summary.feeds.find((each) => each.id === id);
    expect(feed("pa-mix")?.silentSeconds).toBeGreaterThanOrEqual(75);
    expect(feed("pa-mix")?.silentSeconds).toBeLessThan(80);
    expect(feed("in-ear-mix")).toMatchObject({ silentSeconds: 0, slips: 0, dropouts: { whileFaulty: 0, onReturn: 1 } });
    const stateAt = (id: string, seconds: number) =>
      summary.devices
        .find((each) => each.id === id)
        ?.states.find(({ fromSeconds, toSeconds }) => fromSeconds <= seconds && seconds < toSeconds)?.state;
    expect(["foh-desk", "stage-box", "monitor-desk"].map((id) => stateAt(id, 1240))).toEqual([
      ...["starting", "free-run", "locked"],
    ]);
    expect(stateAt("stage-box", 1300)).toBe("locked");
    // As typed, nothing in the plan is an error.
    expect(check(plan).filter(({ severity }) => severity === "error")).toEqual([]);
  });
});

describe("a rig of cables alone", () => {
  const cables = "from,to,type\nFOH desk,Stage box,MADI\nStage box,Wing box,MADI\nStage box,Monitor desk,MADI\n";

  test("every device is asked about, and listens to whoever is nearest to the leader", () => {
    const { text, provisional, issues } = fromTexts({ "cables.csv": cables });
    expect(formatIssues(issues)).toEqual([]);
    expect(provisional).toEqual(["foh-desk", "stage-box", "wing-box", "monitor-desk"]);
    const plan = planOf(text);
    expect(plan.leaders).toEqual(["foh-desk"]);
    expect(Object.fromEntries(plan.devices.map(({ id, clockSources }) => [id, clockSources]))).toEqual({
      ...{ "foh-desk": ["internal"], "stage-box": ["1"], "monitor-desk": ["1"], "wing-box": ["1"] },
    });
    expect(text?.match(/Does it lead\? What does it listen to\?/g)).toHaveLength(4);
    expect(text).toContain("Provisional: no table says which ports.");
    expect(text).toContain("Provisional: how long is the show?");
  });

  test("a patch sheet makes feeds from box to desk, and the line that is patched nowhere is passed over", () => {
    const made = fromTexts({
      "patch.csv": "Ch;Source;Box;Socket;Desk\n1;Kick;Stage box;1;FOH desk\n2;Snare;Stage box;2;FOH desk\n3;spare;;;\n",
      "cables.csv": "from;to;type\nStage box;FOH desk;MADI\n",
    });
    expect(formatIssues(made.issues)).toEqual([]);
    const { feeds, devices } = planOf(made.text);
    expect(feeds).toMatchObject([
      { id: "stage-box-to-foh-desk", through: ["stage-box", "foh-desk"], hops: [{ channels: 2 }] },
    ]);
    expect(devices.map(({ id }) => id)).toEqual(["foh-desk", "stage-box"]);
  });
});

describe("however the file was written", () => {
  const table = 'Device,Leader,Listens to\r\nFOH desk,1,own clock\r\n"Stage\r\nbox",,own clock\r\n';
  const wanted = planOf(fromTexts({ "devices.csv": table }).text);

  test.each([
    ["byte-order mark", `\ufeff${table}`],
    ["semicolons", table.replaceAll(",", ";")],
    ["tabs", table.replaceAll(",", "\t")],
    ["LF", table.replaceAll("\r\n", "\n")],
    ["CR", table.replaceAll("\r\n", "\r")],
    ["blank lines", table.replaceAll("\r\nFOH", "\r\n\r\n,,\r\nFOH")],
    ["other case and order", 'LISTENS  TO,device,leader\nown clock,FOH desk,1\nown clock,"Stage box",\n'],
    ["a title above", `Lantern Quay\n\n${table}`],
  ])("%s", (name, text) => {
    const { text: made, issues } = fromTexts({ "devices.csv": text });
    expect(formatIssues(issues)).toEqual([]);
    const title = name === "a title above" ? "Lantern Quay" : wanted.title;
    expect(planOf(made)).toEqual({ ...wanted, title });
  });

  test.each([
    ["Length", "30 ft", 9.144],
    ["Length", "30'", 9.144],
    ["Length", "12 m", 12],
    ["Length", "12,5", 12.5],
    ["Length", "12.5m", 12.5],
    ["Length (ft)", "30", 9.144],
    ["length_ft", "10", 3.048],
    ["Length [m]", "7", 7],
    ["lengthMetres", "7", 7],
    ["Length (ft)", "9 m", 9],
  ])("%s %s is %d m", (heading, text, metres) => {
    const made = fromTexts({ "cables.csv": `from;to;type;${heading}\nFOH;Stage;MADI;${text}\n` });
    expect(formatIssues(made.issues)).toEqual([]);
    expect(planOf(made.text).links[0]?.lengthMetres).toBe(metres);
  });
});

describe("times as people say them", () => {
  const devices =
    "Device,Leads,Listens to,Arrives,Boot time\nFOH desk,1,own clock,,1:15\nGuest desk,,own clock,18:00,1 min 30 s\n";
  const cables = `Cable,From,To,Type,Length,Arrives\nguest,Guest desk 1,FOH desk 7,MADI,"39' 4""",18:05\n`;
  const events = "At,Do,What,For\n00:30,reboot,Guest desk,\n35 min,unplug,guest,1:30\n";
  const texts = {
    "show.csv": "Show,Length,Starts at\nLantern Quay,8:00,17:30\n",
    ...{ "devices.csv": devices, "cables.csv": cables, "events.csv": events },
  };
  const made = fromTexts(texts);

  test("the time of day, over midnight, and what arrives later, become the one form of the file", () => {
    expect(formatIssues(made.issues)).toEqual([]);
    const plan = planOf(made.text);
    expect(plan).toMatchObject({ startsAt: "17:30", lengthNs: 8 * 3600e9 });
    expect(plan.devices.map(({ atStart, bootSeconds }) => [atStart, bootSeconds])).toEqual([
      ["on", 75],
      ["off", 90],
    ]);
    expect(plan.links[0]).toMatchObject({ atStart: "unplugged", lengthMetres: 11.9888 });
    expect(plan.events.map((event) => [event.atNs / 60e9, event.do])).toEqual([
      ...[
        [30, "power-back"],
        [35, "plug"],
        [35, "unplug"],
        [36.5, "plug"],
        [420, "reboot"],
      ],
    ]);
  });

  test("what may mean two things is said back with its cell", () => {
    expect(made.readAs.map(({ text, as, place }) => `${place.file}:${place.line} ${text}: ${as}`)).toEqual([
      "show.csv:2 8:00: hours and minutes, 08:00:00",
      "devices.csv:2 1:15: minutes and seconds, 75 s",
      "devices.csv:3 18:00: the time of day, 00:30:00 of the show",
      "cables.csv:2 18:05: the time of day, 00:35:00 of the show",
      "events.csv:2 00:30: the time of day, 07:00:00 of the show",
      "events.csv:3 1:30: minutes and seconds, 90 s",
    ]);
  });

  test("and goes into tables and back without loss", () => {
    const again = thereAndBack(JSON.parse((made.text as string).replace(/^\s*\/\/.*$/gm, "")));
    expect(formatIssues(again.issues)).toEqual([]);
    expect(planOf(again.text)).toEqual(planOf(made.text));
    expect(again.readAs).toEqual([]);
  });
});
