import { spawnSync } from "node:child_process";
import { chmodSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { describe, expect, it } from "vitest";
import { CHECK_RULES } from "../shared/check-rules.ts";
import { DEFAULTS } from "../shared/defaults.ts";
import { LINK_TYPES, linkType, NS_PER_METRE } from "../shared/link-types.ts";
import { OSCILLATOR_TYPES, oscillatorType } from "../shared/oscillators.ts";
import { RULE_NAMES } from "../shared/rule-names.ts";
import { TABLES } from "../sim/tables/columns.ts";
import { readPlainYaml } from "./helpers/plain-yaml.ts";
import { plan } from "./helpers/rig.ts";
import { fromTexts } from "./tables/sheets.ts";

function defaultsTable(): string {
  const rows = DEFAULTS.map((row) => {
    const value = Array.isArray(row.value) ? row.value.join(", ") : String(row.value);
    const source = row.source === "" || row.source === "no source" ? "" : `: ${row.source}`;
    return `| ${row.on} | \`${row.name}\` | ${value}${row.unit === "" ? "" : ` ${row.unit}`} | ${row.what} | ${row.origin}${source} | ${row.why} |`;
  });
  return ["| on | name | default | what it is | origin | why |", "| --- | --- | --- | --- | --- | --- |", ...rows].join(
    "\n",
  );
}

function linkTypesTable(): string {
  const rows = LINK_TYPES.map((name) => {
    const type = linkType(name);
    const { base, double, quadruple } = type.channels;
    const media = type.media.map(
      ({ name: medium, lengthMetresMax: most }) =>
        `${medium} ${most.value} m (${most.origin}), ${NS_PER_METRE[medium].value} ns/m (${NS_PER_METRE[medium].origin})`,
    );
    const times = [type.noticeSeconds, type.comingUpSeconds].map((each) => `${each.value} s (${each.origin})`);
    const channels = `${base.value} (${base.origin}), ${double.value} (${double.origin}), ${quadruple.value} (${quadruple.origin})`;
    const latency = `${type.latencySamples.value} samples (${type.latencySamples.origin})${type.latencySeconds.value === 0 ? "" : ` and ${type.latencySeconds.value * 1e6} µs (${type.latencySeconds.origin})`}`;
    return `| \`${name}\` ${type.name}, ${type.twoWay ? "two ways in one cable" : "one way a cable"} | ${channels} | ${type.carriesClock} | ${media.join("; ")} | ${latency} | ${times.join(" | ")} |`;
  });
  return [
    "| type | channels at base, double, quadruple rate | what carries the clock | medium, largest length, delay | latency | notices a break in | comes up in |",
    "| --- | --- | --- | --- | --- | --- | --- |",
    ...rows,
  ].join("\n");
}

function oscillatorTypesTable(): string {
  const rows = OSCILLATOR_TYPES.map((name) => {
    const type = oscillatorType(name);
    const cells = (
      [
        ["tolerancePpm", "ppm"],
        ["ageingPpbPerDay", "ppb"],
        ["tempcoPpmPerCelsius", "ppm"],
        ["warmUpPpm", "ppm"],
        ["warmUpSeconds", "s"],
        ["coolDownSeconds", "s"],
        ["sigma1", "s^½"],
        ["hMinus1", ""],
        ["sigma2", "s^−½"],
      ] as const
    ).map(([field, unit]) => `${Number(type[field].value.toPrecision(3))} ${unit} (${type[field].origin})`);
    return `| \`${name}\` ${type.name} | ${cells.join(" | ").replaceAll("  ", " ")} |`;
  });
  return [
    "| type | tolerance, ± | ageing a day | per °C | when cold | warms in | cools in | σ1 | h−1 | σ2 |",
    "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ...rows,
  ].join("\n");
}

function rulesTable(): string {
  const rows = RULE_NAMES.map((name) => {
    const { severity, finds, source } = CHECK_RULES[name];
    return `| \`${name}\` | ${severity} | ${finds} | ${source} |`;
  });
  return ["| rule | at most | finds | where it is from |", "| --- | --- | --- | --- |", ...rows].join("\n");
}

function headingsTable(): string {
  const rows = TABLES.flatMap(({ name, columns }) => {
    const said = columns.flatMap(({ key, headings }) =>
      headings.length === 0 || name === "types" ? [] : [`\`${key.replace(/^~/, "")}\` ${headings.join(", ")}`],
    );
    return said.length === 0 ? [] : [`| ${name} | ${said.join("; ")} |`];
  });
  return ["| table | columns |", "| --- | --- |", ...rows].join("\n");
}

function withTable(readme: string, name: string, table: string): string {
  const open = `<!-- ${name} -->\n`;
  const from = readme.indexOf(open);
  const to = readme.indexOf(`<!-- /${name} -->`);
  if (from < 0 || to < from) throw new Error(`the README has no place for the table of ${name}`);
  return `${readme.slice(0, from + open.length)}${table}\n${readme.slice(to)}`;
}

it("the tables in the README are the ones in use", async () => {
  const readme = readFileSync("README.md", "utf8");
  const tables = [
    ["defaults", defaultsTable()],
    ["link types", linkTypesTable()],
    ["oscillator types", oscillatorTypesTable()],
    ["rules", rulesTable()],
    ["headings", headingsTable()],
  ] as const;
  const fresh = tables.reduce((text, [name, table]) => withTable(text, name, table), readme);
  await expect(fresh, "a table has changed; to write it: npm run golden").toMatchFileSnapshot("../README.md");
});

it("the scenario in the README is one", () => {
  const [, text = ""] = readFileSync("README.md", "utf8").match(/```jsonc\n([\s\S]*?)```/u) ?? [];
  expect(plan(text).devices).toHaveLength(3);
});

it("the tables of devices and cables in the README make a rig", () => {
  const [devices = "", cables = ""] = [...readFileSync("README.md", "utf8").matchAll(/```csv\n([\s\S]*?)```/gu)].map(
    ([, text]) => text,
  );
  const { text, issues } = fromTexts({ "devices.csv": devices, "cables.csv": cables });
  expect(issues).toEqual([]);
  const { devices: made, links, leaders } = plan(text as string);
  expect([made.length, links.length, leaders]).toEqual([2, 1, ["foh-desk"]]);
});

describe.skipIf(process.platform === "win32")(
  "parts of a list of faults on many machines, as the README has them",
  () => {
    const readme = readFileSync("README.md", "utf8");
    const blocks = (language: string) =>
      [...readme.matchAll(new RegExp(`\`\`\`${language}\\n([\\s\\S]*?)\`\`\``, "gu"))].map(([, text = ""]) => text);
    const scripts = blocks("sh");

    /** What the command would be given, in place of the command. */
    function asked(script: string, env: Readonly<Record<string, string>>): string {
      const folder = mkdtempSync(join(tmpdir(), "pulltest-readme-"));
      try {
        for (const [name, skip] of [
          ["npx", "shift; "],
          ["pulltest", ""],
        ] as const) {
          writeFileSync(join(folder, name), `#!/bin/sh\n${skip}echo "$@"\n`);
          chmodSync(join(folder, name), 0o755);
        }
        const path = [folder, process.env.PATH].join(delimiter);
        const { status, stdout, stderr } = spawnSync("sh", ["-c", script], {
          env: { PATH: path, ...env },
          encoding: "utf8",
        });
        expect({ status, stderr }).toEqual({ status: 0, stderr: "" });
        return stdout.trim();
      } finally {
        rmSync(folder, { recursive: true });
      }
    }

    it("every script is one", () => {
      expect(scripts.length).toBeGreaterThan(2);
      for (const script of scripts) {
        const { status, stderr } = spawnSync("sh", ["-n"], { input: script, encoding: "utf8" });
        expect({ status, stderr }, script).toEqual({ status: 0, stderr: "" });
      }
    });

    it("a Slurm array counts its tasks from 0 and plays the parts from 1 to the last", () => {
      const [script = ""] = scripts.filter((each) => each.includes("#SBATCH"));
      const [, first, last] = /--array=(\d+)-(\d+)/.exec(script) ?? [];
      expect(first).toBe("0");
      for (const task of [0, Number(last)])
        expect(
          asked(script, {
            SLURM_ARRAY_TASK_ID: String(task),
            SLURM_ARRAY_TASK_COUNT: String(Number(last) + 1),
            SLURM_CPUS_PER_TASK: "2",
          }),
        ).toBe(`faults quay.json --threads 2 --shard ${task + 1}/${Number(last) + 1} --keep part-${task + 1} --resume`);
    });

    it("an indexed Job counts from 0 and plays the parts from 1 to the last", () => {
      const [manifest = ""] = blocks("yaml");
      const job = readPlainYaml(manifest) as never as {
        readonly apiVersion: string;
        readonly kind: string;
        readonly spec: {
          readonly completionMode: string;
          readonly completions: number;
          readonly template: {
            readonly spec: {
              readonly restartPolicy: string;
              readonly containers: readonly {
                readonly command: readonly string[];
                readonly volumeMounts: readonly { readonly name: string }[];
              }[];
              readonly volumes: readonly { readonly name: string }[];
            };
          };
        };
      };
      const { spec } = job.spec.template;
      const [container] = spec.containers;
      expect([job.apiVersion, job.kind, job.spec.completionMode]).toEqual(["batch/v1", "Job", "Indexed"]);
      // The only two that a Job takes.
      expect(["OnFailure", "Never"]).toContain(spec.restartPolicy);
      expect(container?.volumeMounts.map(({ name }) => name)).toEqual(spec.volumes.map(({ name }) => name));
      const [shell, option, script = ""] = container?.command ?? [];
      expect([shell, option]).toEqual(["sh", "-c"]);
      const { completions } = job.spec;
      for (const index of [0, completions - 1])
        expect(asked(script, { JOB_COMPLETION_INDEX: String(index) })).toBe(
          `faults quay.json --threads 2 --shard ${index + 1}/${completions} --keep part-${index + 1} --resume`,
        );
    });

    it("the reader of the manifest takes no other YAML", () => {
      const [manifest = ""] = blocks("yaml");
      for (const broken of ["   kind: Job", "kind: Job", "a: yes", "a: {b: c}", "\tb: c", "a: *b"])
        expect(() => readPlainYaml(`${manifest}${broken}\n`), broken).toThrow();
    });
  },
);
