/** Where the page is served, in words, and as codes for a telephone where the terminal can show them. */
import { plainInk } from "../print/ink.ts";
import { oneLine } from "../print/plain.ts";
import type { Io } from "../terminal.ts";
import type { OwnAddress } from "./addresses.ts";
import { halfBlocks, onWhite } from "./qr.ts";
import { LOOPBACK } from "./server.ts";

export interface Where {
  /** The file, or what stands for it. */
  readonly what: string;
  readonly port: number;
  /** Null: this machine alone. */
  readonly shared: { readonly local: readonly OwnAddress[]; readonly others: readonly OwnAddress[] } | null;
}

export function sayWhere({ what, port, shared }: Where, io: Io): void {
  const own = `http://${LOOPBACK}:${port}/`;
  if (shared === null) {
    io.err(`${oneLine(what)} is open to this machine alone. Put the address into a browser; Ctrl-C ends it.\n`);
    io.out(`${own}\n`);
    return;
  }
  io.err(
    `${oneLine(what)} is shared, to be read. Ctrl-C ends it.\n` +
      "Caution: anybody on that network can open it and see the plan. There is no password, and nothing is encrypted.\n" +
      "Nothing on this machine and nothing in your rig can be changed from there.\n",
  );
  for (const { address, over } of shared.others)
    io.err(`Not shared at ${address} (${oneLine(over)}): that is no address of a local network.\n`);
  io.out(`${own}  on this machine\n`);
  for (const { address, over } of shared.local) {
    const there = `http://${address}:${port}/`;
    io.out(`${there}  on the network at ${oneLine(over)}\n`);
    if (io.columns === null || io.ink.out === plainInk) continue;
    const code = halfBlocks(there);
    if ((code[0] ?? "").length <= io.columns) io.out(`${code.map(onWhite).join("\n")}\n`);
  }
}
