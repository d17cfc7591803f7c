/**
 * One page over HTTP, to be read and nothing else. There is one path and two methods. A request must name the address
 * that it came in at: a page elsewhere whose name somebody has pointed at this machine (DNS rebinding) names itself.
 */
import { createServer, type IncomingMessage, type Server, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";

export const LOOPBACK = "127.0.0.1";

export interface Served {
  readonly port: number;
  /** Ends at once, what is being sent included. */
  close(): Promise<void>;
}

/** A port that is free at one address may be taken at another: so often another one is tried. */
const TRIES = 5;
/** More than a crew opens at once, and few enough to cost nothing. */
const CONNECTIONS_MAX = 64;

/** Rejects with the system's error where it cannot listen. `port` null: any that is free at all addresses. */
export async function serve(
  page: string,
  { addresses, port }: { readonly addresses: readonly string[]; readonly port: number | null },
): Promise<Served> {
  const answer = answerWith(page);
  for (let tries = 1; ; tries += 1) {
    const servers: Server[] = [];
    let chosen = port ?? 0;
    try {
      for (const address of addresses) {
        const server = createServer(answer);
        server.maxConnections = CONNECTIONS_MAX;
        await listening(server, chosen, address);
        servers.push(server);
        chosen = (server.address() as AddressInfo).port;
      }
      return { port: chosen, close: () => closed(servers) };
    } catch (error) {
      await closed(servers);
      const isTaken = (error as NodeJS.ErrnoException).code === "EADDRINUSE";
      if (port !== null || !isTaken || tries >= TRIES) throw error;
    }
  }
}

function listening(server: Server, port: number, host: string): Promise<void> {
  return new Promise((done, fail) => {
    server.once("error", fail);
    server.listen({ port, host, exclusive: true }, () => {
      server.off("error", fail);
      done();
    });
  });
}

async function closed(servers: readonly Server[]): Promise<void> {
  await Promise.all(
    servers.map(
      (server) =>
        new Promise<void>((done) => {
          server.close(() => done());
          server.closeAllConnections();
        }),
    ),
  );
}

function answerWith(page: string): (request: IncomingMessage, response: ServerResponse) => void {
  const bytes = Buffer.from(page);
  // A header can say what a policy inside the page cannot: that no other page may frame it.
  const policy = `${policyOf(page)}; frame-ancestors 'none'`;
  return (request, response) => {
    const end = (status: number, type: string, body: Buffer, more: Readonly<Record<string, string>> = {}) => {
      response.writeHead(status, {
        "Content-Type": `${type}; charset=utf-8`,
        "Content-Length": body.length,
        "Content-Security-Policy": policy,
        "Cache-Control": "no-store",
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "no-referrer",
        "Cross-Origin-Resource-Policy": "same-origin",
        ...more,
      });
      response.end(request.method === "HEAD" ? undefined : body);
    };
    const refuse = (status: number, words: string, more: Readonly<Record<string, string>> = {}) =>
      end(status, "text/plain", Buffer.from(`${words}\n`), { Connection: "close", ...more });
    if (!namesOwnAddress(request)) refuse(421, "This page answers only to its own address, in numbers.");
    else if (request.url !== "/") refuse(404, "There is one page here, at /.");
    else if (request.method !== "GET" && request.method !== "HEAD")
      refuse(405, "This page can be read, and nothing else.", { Allow: "GET, HEAD" });
    else end(200, "text/html", bytes);
  };
}

function policyOf(page: string): string {
  const policy = /<meta http-equiv="Content-Security-Policy" content="([^"]*)">/.exec(page)?.[1];
  if (policy === undefined) throw new Error("the page has no content policy");
  return policy;
}

function namesOwnAddress({ headers, socket }: IncomingMessage): boolean {
  const { localAddress = "", localPort = 0 } = socket;
  const names = localAddress === LOOPBACK ? [LOOPBACK, "localhost"] : [localAddress];
  const host = headers.host?.toLowerCase();
  return names.some((name) => host === `${name}:${localPort}` || (localPort === 80 && host === name));
}
