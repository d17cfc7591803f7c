/** `pulltest view`: the page, served to this machine's browser, or to read on the local network, until it is interrupted. */
import { readFile } from "node:fs/promises";
import { networkInterfaces } from "node:os";
import { type Issue, quote } from "../../shared/issues.ts";
import { firstFix } from "../../sim/first-fix.ts";
import { comparePolicies, rowsToCompare } from "../../sim/policies.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { ROWS_COMPARED_UNASKED } from "../../sim/run-data.ts";
import { tell } from "../../sim/tell.ts";
import { reasonOf } from "../files.ts";
import { issuesText } from "../print/issues.ts";
import { pageText } from "../print/page.ts";
import { oneLine } from "../print/plain.ts";
import { readScenarioFile } from "../scenario.ts";
import { ownAddresses } from "../serve/addresses.ts";
import { LOOPBACK, type Served, serve } from "../serve/server.ts";
import { sayWhere } from "../serve/where.ts";
import { BAD_INPUT, INTERRUPTED } from "../status.ts";
import type { Io } from "../terminal.ts";

export interface ViewRequest {
  /** Null: the page as it comes, with what is shipped in it. */
  readonly file: string | null;
  /** As typed; null: any that is free. */
  readonly port: string | null;
  /** Also to whoever is on the local network. */
  readonly share: boolean;
}

export async function viewPage({ file, port: typed, share }: ViewRequest, io: Io): Promise<number> {
  const refused = (problem: string): number => {
    io.err(`pulltest view: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  };
  const port = typed === null ? null : Number(typed);
  const isPort = port === null || (/^\d+$/.test(typed ?? "") && port >= 1 && port <= 65_535);
  if (!isPort)
    return refused(`--port: expected a whole number from 1 to 65535, received ${quote(typed)}; or leave it out`);
  const { local, others } = share ? ownAddresses(networkInterfaces()) : { local: [], others: [] };
  if (share && local.length === 0)
    return refused("--share: this machine is on no local network; join one, or leave --share out");

  const made = file === null ? { page: await plainPage() } : await pageOf(file, io);
  if ("issues" in made) {
    io.err(issuesText(made.issues, "nothing is served"));
    return BAD_INPUT;
  }
  let served: Served;
  try {
    served = await serve(made.page, { addresses: [LOOPBACK, ...local.map(({ address }) => address)], port });
  } catch (error) {
    return refused(`cannot serve the page: ${listenReason(error, port)}`);
  }
  const interruption = new Promise<void>((done) => process.once("SIGINT", () => done()));
  sayWhere({ what: file ?? "The page", port: served.port, shared: share ? { local, others } : null }, io);
  await interruption;
  await served.close();
  return INTERRUPTED;
}

function plainPage(): Promise<string> {
  return readFile(new URL("page.html", import.meta.url), "utf8");
}

/** The page with the run of a file in it, and its texts to go on from. */
async function pageOf(
  file: string,
  io: Io,
): Promise<{ readonly page: string } | { readonly issues: readonly Issue[] }> {
  const { plan, issues, sha256, texts } = await readScenarioFile(file, io, { events: [], options: [], seed: null });
  if (plan === null) return { issues };
  const run = rehearse(plan, { sha256 });
  const telling = tell(run, { fix: firstFix(run) });
  const policies = rowsToCompare(run) <= ROWS_COMPARED_UNASKED ? comparePolicies(run) : null;
  return { page: await pageText({ ...run, telling, ...(policies && { policies }), files: texts }) };
}

function listenReason(error: unknown, port: number | null): string {
  const { code } = error as NodeJS.ErrnoException;
  const other = "give another --port, or leave it out";
  if (code === "EADDRINUSE") return `port ${port} is taken; ${other}`;
  if (code === "EACCES") return `port ${port} is not for this user; ${other}`;
  return reasonOf(error);
}
