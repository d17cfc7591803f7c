/** `pulltest new`: writes a template, or lists them. */
import { nearest } from "../../shared/nearest.ts";
import { TEMPLATES } from "../../sim/templates/index.ts";
import { writeNewFile } from "../files.ts";
import { oneLine } from "../print/plain.ts";
import { BAD_INPUT, MET } from "../status.ts";
import type { Io } from "../terminal.ts";

export async function newRig(
  { template, out, force }: { readonly template: string | null; readonly out: string | null; readonly force: boolean },
  io: Io,
): Promise<number> {
  if (template === null) {
    io.out(`${listing()}\n`);
    return MET;
  }
  const chosen = TEMPLATES.find(({ name }) => name === template);
  if (chosen === undefined) {
    const meant = nearest(
      template,
      TEMPLATES.map(({ name }) => name),
    );
    const hint = meant === null ? "" : ` Did you mean ${meant}?`;
    io.err(`pulltest new: there is no template "${oneLine(template)}".${hint}\n${listing()}\n`);
    return BAD_INPUT;
  }
  if (out === null || out === "-") {
    io.out(chosen.text);
    return MET;
  }
  const problem = await writeNewFile(io.workingFolder, out, chosen.text, { overwrite: force });
  if (problem !== null) {
    io.err(`pulltest new: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  }
  io.err(`Wrote ${oneLine(out)}. Play it: pulltest rehearse ${oneLine(out)}\n`);
  return MET;
}

function listing(): string {
  const width = Math.max(...TEMPLATES.map(({ name }) => name.length));
  const lines = TEMPLATES.map(({ name, what }) => `  ${name.padEnd(width)}  ${what}`);
  return ["Rigs to begin with: pulltest new TEMPLATE --out FILE", ...lines].join("\n");
}
