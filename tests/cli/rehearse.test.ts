import { existsSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import type { Summary } from "../../shared/summary.ts";
import { pulltest, scratchFolder, smallRig } from "./command.ts";
import { checkShape, summaryShape } from "./summary-shape.ts";

const folder = scratchFolder();

function write(name: string, value: unknown): string {
  writeFileSync(join(folder, name), typeof value === "string" ? value : JSON.stringify(value, null, 2));
  return name;
}

const inFolder = (args: readonly string[], more: Parameters<typeof pulltest>[1] = {}) =>
  pulltest(args, { cwd: folder, ...more });
const summaryOf = (out: string) => JSON.parse(out) as Summary;

write("small.json", smallRig());

describe("what rehearse prints", () => {
  test("text: the timeline, each listener, the verdict, and always the same last line, all on standard output", () => {
    const { status, out, err } = inFolder(["rehearse", "small.json"]);
    expect({ status, err }).toEqual({ status: 0, err: "" });
    expect(out).toMatch(/^Two desks\nsmall\.json, plan ..-.., sha256 [0-9a-f]{12}, seed quay-1, pulltest \d/);
    expect(out).toContain("00:00:00  FOH desk leads; the monitor desk follows it.");
    expect(out).toContain("In-ears   clean from beginning to end.");
    expect(out).toContain("The file expects nothing, so nothing was compared. Not tested on site.");
    expect(out.trimEnd().split("\n").at(-1)).toMatch(
      /^A rehearsal with \d+ assumed numbers?, not a test\. Pull the cables before doors\.$/,
    );
  });

  test("--json: one documented shape, nothing else on standard output", () => {
    const { status, out, err } = inFolder(["rehearse", "small.json", "--json"]);
    expect({ status, err }).toEqual({ status: 0, err: "" });
    expect(summaryShape.safeParse(JSON.parse(out)).error).toBeUndefined();
    expect(summaryOf(out)).toMatchObject({
      scenario: { title: "Two desks" },
      seed: "quay-1",
      runSeconds: 600,
      verdict: "none",
    });
  });

  test("the same file and seed give the same bytes; another seed is told", () => {
    const first = inFolder(["rehearse", "small.json", "--json"]);
    expect(inFolder(["rehearse", "small.json", "--json"]).out).toBe(first.out);
    expect(summaryOf(inFolder(["rehearse", "small.json", "--json", "--seed", "quay-2"]).out).seed).toBe("quay-2");
  });

  test("a seed decides what is left to chance, and only that", () => {
    const rig = smallRig();
    rig.rig.devices = rig.rig.devices.map(
      ({ oscillator: _drawn, ...device }) => device as (typeof rig.rig.devices)[number],
    );
    write("drawn.json", rig);
    const offset = (seed: string) =>
      summaryOf(inFolder(["rehearse", "drawn.json", "--json", "--seed", seed]).out).devices[0]?.offsetPpm;
    expect(offset("a")).toBe(offset("a"));
    expect(offset("a")).not.toBe(offset("b"));
  });

  test("standard input is a scenario too", () => {
    const { status, out } = inFolder(["rehearse", "-", "--json"], { input: JSON.stringify(smallRig()) });
    expect(status).toBe(0);
    expect(summaryOf(out).scenario.title).toBe("Two desks");
  });

  test("colour only where it is wanted: none without a terminal, FORCE_COLOR brings it, NO_COLOR wins", () => {
    const colour = "\u001b[";
    expect(inFolder(["rehearse", "small.json"]).out).not.toContain(colour);
    const forced = inFolder(["rehearse", "small.json"], { env: { FORCE_COLOR: "1" } }).out;
    expect(forced).toContain(colour);
    expect(inFolder(["rehearse", "small.json"], { env: { FORCE_COLOR: "1", NO_COLOR: "1" } }).out).not.toContain(
      escape,
    );
  });
});

describe("faults on the command line", () => {
  test("are played on a rig that has no events, and undone after their time", () => {
    const { status, out } = inFolder([
      "rehearse",
      "small.json",
      "--json",
      "--reboot",
      "foh@00:02:00",
      "--unplug",
      "main@00:06:00+1m30s",
    ]);
    expect(status).toBe(0);
    expect(summaryOf(out).events).toEqual([
      { atSeconds: 120, do: "reboot", on: "foh", undoes: false },
      { atSeconds: 360, do: "unplug", on: "main", undoes: false },
      { atSeconds: 450, do: "plug", on: "main", undoes: true },
    ]);
    const [feed] = summaryOf(out).feeds;
    // A reboot takes 60 s unless the file says otherwise, the cable is out for 90 s, and each link then comes up.
    expect(feed?.silentSeconds).toBeGreaterThan(150);
    expect(feed?.silentSeconds).toBeLessThan(152);
  });

  test("go in among the events of the file, in order of time", () => {
    const rig = smallRig();
    rig.events.push({ at: "00:03:00", do: "unplug", link: "main", forSeconds: 60 });
    write("eventful.json", rig);
    const { out } = inFolder([
      "rehearse",
      "eventful.json",
      "--json",
      "--cut",
      "quay wall@00:01:00+10s",
      "--power-cut",
      "mon@00:08:00",
    ]);
    expect(summaryOf(out).events.map((event) => [event.atSeconds, event.do, event.on, event.undoes])).toEqual([
      [60, "cut", "quay wall", false],
      [70, "mend", "quay wall", true],
      [180, "unplug", "main", false],
      [240, "plug", "main", true],
      [480, "power-cut", "mon", false],
    ]);
  });

  test("that cannot be are refused with the rest, all at once", () => {
    const { status, out, err } = inFolder([
      ...["rehearse", "small.json", "--reboot", "fho@00:02:00", "--unplug", "main@00:20:00"],
      ...["--reboot", "foh@2:00", "--cut", "quay-wall@00:01:00"],
    ]);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain('did you mean "foh"?');
    expect(err).toContain("an instant within the run");
    expect(err).toContain("for 2 min write 00:02:00; as hours and minutes it is 02:00:00, after the end of the show");
    expect(err).toContain('did you mean "quay wall"?');
    expect(err).toMatch(/^pulltest: four problems in the input; nothing was played\.\n/);
  });
});

describe("the page", () => {
  test("is written whole, over an older one, with the run inside and nothing that ends its script", () => {
    const rig = { ...smallRig(), title: "</script><script>document.title = 1</script>" };
    write("hostile.json", rig);
    for (const attempt of [1, 2]) {
      const { status, err } = inFolder(["rehearse", "hostile.json", "--html", "run.html"]);
      expect({ attempt, status, err }).toEqual({
        attempt,
        status: 0,
        err: "Wrote run.html: open it in a browser, no network needed.\n",
      });
    }
    const html = readFileSync(join(folder, "run.html"), "utf8");
    const data = /<script type="application\/json" id="run">(.*?)<\/script>/s.exec(html)?.[1] ?? "";
    const run = JSON.parse(data) as {
      format: number;
      plan: { title: string };
      summary: Summary;
      telling: { last: string };
    };
    expect(run.format).toBe(1);
    expect(run.plan.title).toBe(rig.title);
    expect(summaryShape.safeParse(run.summary).error).toBeUndefined();
    expect(run.telling.last).toMatch(/^A rehearsal with/);
    expect(readdirSync(folder).filter((name) => name.endsWith(".part"))).toEqual([]);
  });

  test("that cannot be written ends with 2 and says why, and the run is not printed as if all were done", () => {
    const { status, out, err } = inFolder(["rehearse", "small.json", "--html", "no/such/folder.html"]);
    expect({ status, out, err }).toEqual({
      status: 2,
      out: "",
      err: "pulltest rehearse: cannot write no/such/folder.html: there is no such file or folder\n",
    });
  });
});

describe("the status says what the run came to", () => {
  const withExpect = (max: number) => {
    const rig = smallRig();
    rig.events.push({ at: "00:02:00", do: "unplug", link: "main", forSeconds: 30 });
    rig.expect.push({ feed: "mix", silentSeconds: { max } }, { device: "foh", is: "free-run" });
    return rig;
  };

  test("0 when every expectation is met", () => {
    write("met.json", withExpect(40));
    const { status, out } = inFolder(["rehearse", "met.json"]);
    expect(status).toBe(0);
    expect(out).toContain("Every expectation met. Not tested on site.");
  });

  test("1 when one is missed, with what was expected and what was found", () => {
    write("missed.json", withExpect(5));
    const { status, out, err } = inFolder(["rehearse", "missed.json"]);
    expect({ status, err }).toEqual({ status: 1, err: "" });
    expect(out).toContain("One of 2 expectations missed. Not tested on site.");
    expect(out).toMatch(/Expected mix: silence at most 5 s; found 30\.\d+ s\./);
  });
});

describe("bad input ends with 2: everything at once, on standard error, and nothing is written", () => {
  test("problems of several kinds", () => {
    const rig = { ...smallRig(), evnets: [] } as Record<string, unknown>;
    (rig.rig as ReturnType<typeof smallRig>["rig"]).devices[1]!.clockSources = ["7"];
    (rig.rig as ReturnType<typeof smallRig>["rig"]).devices[0]!.oscillator.offsetPpm = 42_000;
    write("bad.json", rig);
    for (const verb of ["rehearse", "check"]) {
      const { status, out, err } = inFolder([verb, "bad.json"]);
      expect({ verb, status, out }).toEqual({ verb, status: 2, out: "" });
      expect(err).toMatch(/bad\.json:\d+:\d+ › evnets: .*did you mean events/);
      expect(err).toMatch(
        /bad\.json:\d+:\d+ › rig\.devices\[0\]\.oscillator\.offsetPpm: expected a number from -1000 to 1000 ppm, received 42000/,
      );
      expect(err).not.toMatch(/\n\s+at /);
    }
    const { status } = inFolder(["rehearse", "bad.json", "--html", "bad.html"]);
    expect(status).toBe(2);
    expect(existsSync(join(folder, "bad.html"))).toBe(false);
  });

  test.each([
    ["a file that is not there", ["rehearse", "nowhere.json"], "received a name that nothing has"],
    ["a folder", ["check", "."], "received a folder"],
    ["no JSON", ["check", "-"], "(standard input):1:3: expected a JSON value"],
  ])("%s", (_what, args, message) => {
    const { status, out, err } = inFolder(args, { input: "{ not json" });
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain(message);
    expect(err).not.toMatch(/\n\s+at /);
  });

  test.skipIf(process.platform === "win32")("what never ends is not read to its end", () => {
    const { status, err } = inFolder(["check", "/dev/zero"]);
    expect(status).toBe(2);
    expect(err).toContain("more than 4 MB");
  });

  test("a rig outside the scenario's folder is not read, however it is named", () => {
    const secret = write("secret.txt", "root:x:0:0");
    for (const name of ["../secret.txt", "/etc/hostname", "link.json"]) {
      write("sub.json", { ...smallRig(), rig: name });
      if (name === "link.json" && !existsSync(join(folder, name))) symlinkSync("/etc/hostname", join(folder, name));
      const { status, err } = inFolder(["check", "sub.json"]);
      expect({ name, status }).toEqual({ name, status: 2 });
      expect(err).not.toContain("root:x");
      expect(err).toMatch(/outside|out of|folder/);
    }
    expect(secret).toBe("secret.txt");
  });

  test("names that would speak to the terminal do not reach it", () => {
    const rig = smallRig();
    rig.rig.devices[0]!.name = "FOH\u001b]0;owned\u0007\u009b31m";
    rig.title = "Two \u202edesks\u001b[2J";
    write("escape.json", rig);
    for (const args of [
      ["rehearse", "escape.json"],
      ["check", "escape.json"],
      ["rehearse", "escape.json", "--json"],
    ]) {
      const { out, err } = inFolder(args);
      expect(out + err).not.toMatch(/(?!\n)\p{Cc}|[\u202a-\u202e]/u);
    }
  });
});

describe("check", () => {
  const left = () => {
    const rig = smallRig();
    rig.rig.devices[1]!.clockSources = ["internal"];
    return rig;
  };

  test("an error ends with 1 and is told with its place, why, what one would see and what to do", () => {
    write("left.json", left());
    const { status, out, err } = inFolder(["check", "left.json"]);
    expect({ status, err }).toEqual({ status: 1, err: "" });
    expect(out).toMatch(/^left\.json:\d+:\d+ {2}error {2}left-on-internal$/m);
    for (const head of ["Why:", "On site:", "Do:"]) expect(out).toMatch(new RegExp(`^ {2}${head} +\\S`, "m"));
    expect(out).toMatch(/not tested on site\.\n$/);
    // The line is that of the setting itself.
    const line = Number(/left\.json:(\d+)/.exec(out)?.[1]);
    expect(readFileSync(join(folder, "left.json"), "utf8").split("\n")[line - 1]).toMatch(/clockSources|"internal"/);
  });

  test("findings of a rig that has none of them end with 0", () => {
    const { status, out } = inFolder(["check", "small.json"]);
    expect(status).toBe(0);
    expect(out).toContain("was read, not played, and not tested on site.");
  });

  test("--json has one documented shape", () => {
    const { status, out } = inFolder(["check", "left.json", "--json"]);
    expect(status).toBe(1);
    expect(checkShape.safeParse(JSON.parse(out)).error).toBeUndefined();
    expect(JSON.parse(out).errors).toBe(1);
    expect(JSON.parse(out).findings[0]).toMatchObject({ rule: "left-on-internal", place: { file: "left.json" } });
  });
});

describe("new", () => {
  test.each(["two-desks", "spares", "festival-guest", "house-clock"])(
    "%s plays at once, meets what it expects, and has no error",
    (name) => {
      const { out } = inFolder(["new", name]);
      write(`${name}.json`, out);
      const played = inFolder(["rehearse", `${name}.json`]);
      expect(played.status, played.out + played.err).toBe(0);
      expect(played.out).toContain("Every expectation met.");
      const checked = inFolder(["check", `${name}.json`, "--json"]);
      expect(checked.status, checked.out).toBe(0);
      expect(JSON.parse(checked.out)).toMatchObject({ errors: 0, warnings: 0 });
    },
  );
});

test("schema prints a JSON Schema that is the published one", () => {
  const { status, out } = pulltest(["schema"]);
  expect(status).toBe(0);
  expect(JSON.parse(out)).toEqual(JSON.parse(readFileSync("scenarios/scenario.schema.json", "utf8")));
});
