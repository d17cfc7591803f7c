/** The page over HTTP: what is answered, to whom, and how it ends. */
import { type ChildProcess, spawn } from "node:child_process";
import { writeFileSync } from "node:fs";
import { type IncomingHttpHeaders, request } from "node:http";
import { createServer, type Server } from "node:net";
import { networkInterfaces } from "node:os";
import { join, resolve } from "node:path";
import qrcode from "qrcode-generator";
import { afterEach, describe, expect, test } from "vitest";
import { plainInk } from "../../cli/print/ink.ts";
import { ownAddresses } from "../../cli/serve/addresses.ts";
import { halfBlocks, QUIET_ZONE } from "../../cli/serve/qr.ts";
import { serve } from "../../cli/serve/server.ts";
import { sayWhere } from "../../cli/serve/where.ts";
import { pulltest, scratchFolder, smallRig } from "./command.ts";

const folder = scratchFolder();
const rig = join(folder, "quay.json");
writeFileSync(rig, JSON.stringify(smallRig()));

interface Viewing {
  readonly port: number;
  readonly out: string;
  readonly err: () => string;
  /** Ctrl-C; answers with the status. */
  end(): Promise<number | null>;
}

const children: ChildProcess[] = [];
const servers: Server[] = [];
afterEach(() => {
  for (const child of children.splice(0)) child.kill("SIGKILL");
  for (const server of servers.splice(0)) server.close();
});

/** Waits until the address at its end is printed. */
async function view(...args: readonly string[]): Promise<Viewing> {
  const { NO_COLOR: _no, FORCE_COLOR: _force, ...env } = process.env;
  const child = spawn(process.execPath, [resolve("cli/dist/pulltest.cjs"), "view", ...args], { env });
  children.push(child);
  let [out, err] = ["", ""];
  child.stderr.on("data", (chunk) => {
    err += chunk;
  });
  const closed = new Promise<number | null>((done) => child.once("close", done));
  await new Promise<void>((done, fail) => {
    child.stdout.on("data", (chunk) => {
      out += chunk;
      if (/:\d+\/.*\n$/.test(out)) done();
    });
    void closed.then(() => fail(new Error(`ended early: ${err}`)));
  });
  return {
    port: Number(/:(\d+)\//.exec(out)?.[1]),
    out,
    err: () => err,
    end() {
      child.kill("SIGINT");
      return closed;
    },
  };
}

interface Answer {
  readonly status: number | undefined;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
}

function ask(port: number, { host = `127.0.0.1:${port}`, path = "/", method = "GET", at = "127.0.0.1" } = {}) {
  return new Promise<Answer>((done, fail) => {
    const asked = request({ host: at, port, path, method, headers: { host }, agent: false }, (response) => {
      let body = "";
      response.setEncoding("utf8").on("data", (chunk) => {
        body += chunk;
      });
      response.on("end", () => done({ status: response.statusCode, headers: response.headers, body }));
    });
    asked.on("error", fail);
    asked.end();
  });
}

describe("what is served", () => {
  test("the page with the file in it, at one path, to readers alone", async () => {
    const { port, out, end } = await view(rig);
    expect(out).toBe(`http://127.0.0.1:${port}/\n`);
    const { status, headers, body } = await ask(port);
    expect(status).toBe(200);
    expect(body).toMatch(/^<!doctype html>/i);
    const data = /<script type="application\/json" id="run">([\s\S]*?)<\/script>/.exec(body)?.[1] ?? "";
    const { plan, files } = JSON.parse(data);
    expect(plan.title).toBe("Two desks");
    expect(files).toEqual({ main: "quay.json", texts: { "quay.json": JSON.stringify(smallRig()) } });

    const policy = /http-equiv="Content-Security-Policy" content="([^"]+)"/.exec(body)?.[1];
    expect(policy).toContain("default-src 'none'");
    expect(headers).toMatchObject({
      "content-type": "text/html; charset=utf-8",
      "content-length": String(Buffer.byteLength(body)),
      "content-security-policy": `${policy}; frame-ancestors 'none'`,
      "cache-control": "no-store",
      "x-content-type-options": "nosniff",
      "referrer-policy": "no-referrer",
    });
    const head = await ask(port, { method: "HEAD" });
    expect([head.status, head.body, head.headers["content-length"]]).toEqual([200, "", headers["content-length"]]);

    const paths = ["/index.html", "/page.html", "/?", "//", "/..%2fpackage.json", "/quay.json", "http://127.0.0.1/"];
    for (const path of paths) {
      const missing = await ask(port, { path });
      expect([path, missing.status, missing.headers["x-content-type-options"]]).toEqual([path, 404, "nosniff"]);
      expect(missing.body).not.toContain("<");
    }
    for (const method of ["POST", "PUT", "DELETE", "OPTIONS", "PATCH"]) {
      const refused = await ask(port, { method });
      expect([method, refused.status, refused.headers.allow]).toEqual([method, 405, "GET, HEAD"]);
      expect(refused.headers["access-control-allow-origin"]).toBeUndefined();
    }
    expect(await end()).toBe(130);
  });

  test("the plain page without a file", async () => {
    const { port, end } = await view();
    const { status, body } = await ask(port);
    expect(status).toBe(200);
    expect(body).not.toContain('<script type="application/json" id="run">');
    expect(await end()).toBe(130);
  });

  test("only to who asks for this machine by its own address", async () => {
    const { port, end } = await view();
    const statusFor = async (host: string) => (await ask(port, { host })).status;
    for (const host of [`127.0.0.1:${port}`, `localhost:${port}`, `LOCALHOST:${port}`])
      expect([host, await statusFor(host)]).toEqual([host, 200]);
    const strangers = ["127.0.0.1", "localhost", `127.0.0.1:${port + 1}`, `quay.example:${port}`, `127.0.0.2:${port}`];
    for (const host of [...strangers, `127.0.0.1:${port}.quay.example`, `127.0.0.1.quay.example:${port}`])
      expect([host, await statusFor(host)]).toEqual([host, 421]);
    expect(await end()).toBe(130);
  });
});

describe("how it begins and ends", () => {
  test("an interrupt ends it with 130 though a reader keeps its connection, and the port is free again", async () => {
    const { port, end } = await view("--port", String(await freePort()));
    const { Agent } = await import("node:http");
    const agent = new Agent({ keepAlive: true });
    await new Promise<void>((done, fail) => {
      const headers = { host: `127.0.0.1:${port}` };
      request({ host: "127.0.0.1", port, agent, headers }, (response) => response.resume().on("end", done))
        .on("error", fail)
        .end();
    });
    expect(await end()).toBe(130);
    agent.destroy();
    await expect(ask(port)).rejects.toThrow(/ECONNREFUSED/);
    const again = await view("--port", String(port));
    expect(again.port).toBe(port);
    expect(await again.end()).toBe(130);
  });

  test.each(["0", "65536", "-1", "80.5", "http", "", "0x50"])("--port %j is refused with 2", (port) => {
    const { status, out, err } = pulltest(["view", `--port=${port}`]);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain("expected a whole number from 1 to 65535");
  });

  test("a port that is taken, a file that is none, and one with a mistake end with 2 and say why", async () => {
    const port = await freePort(true);
    const taken = pulltest(["view", "--port", String(port)]);
    expect([taken.status, taken.out]).toEqual([2, ""]);
    expect(taken.err).toBe(
      `pulltest view: cannot serve the page: port ${port} is taken; give another --port, or leave it out\n`,
    );
    const missing = pulltest(["view", join(folder, "nothing.json")]);
    expect([missing.status, missing.out]).toEqual([2, ""]);
    expect(missing.err).toContain("nothing is served");
    const broken = join(folder, "broken.json");
    writeFileSync(broken, JSON.stringify({ ...smallRig(), seed: 3 }));
    expect(pulltest(["view", broken]).status).toBe(2);
  });

  test("its help begins with what one can type, and says who can see it", () => {
    const { status, out } = pulltest(["view", "--help"]);
    expect(status).toBe(0);
    expect(out).toMatch(/^ {2}pulltest view\n/);
    expect(out.replace(/\s+/g, " ")).toContain("anybody there can see the plan");
  });
});

/** One that nobody listens at; or one that is kept taken until the test ends. */
function freePort(isKept = false): Promise<number> {
  return new Promise((done) => {
    const server = createServer().listen(0, "127.0.0.1", () => {
      const { port } = server.address() as { port: number };
      if (isKept) {
        servers.push(server);
        done(port);
      } else server.close(() => done(port));
    });
  });
}

describe("shared", () => {
  const { local } = ownAddresses(networkInterfaces());

  test.skipIf(local.length === 0)("at every address of a local network, only when asked to", async () => {
    const [{ address } = { address: "" }] = local;
    const alone = await view();
    await expect(ask(alone.port, { at: address })).rejects.toThrow(/ECONNREFUSED/);
    expect(await alone.end()).toBe(130);

    const { port, out, err, end } = await view(rig, "--share");
    expect(out).toContain(`http://127.0.0.1:${port}/  on this machine\n`);
    for (const { address, over } of local) {
      expect(out).toContain(`http://${address}:${port}/  on the network at ${over}\n`);
      const { status, body } = await ask(port, { at: address, host: `${address}:${port}` });
      expect(status).toBe(200);
      expect(body).toContain("Two desks");
      // A name, this machine's own included, is what a page elsewhere would come with.
      for (const host of [`localhost:${port}`, `127.0.0.1:${port}`, `quay.example:${port}`])
        expect((await ask(port, { at: address, host })).status).toBe(421);
      expect((await ask(port, { at: address, host: `${address}:${port}`, method: "PUT" })).status).toBe(405);
    }
    expect(err()).toContain("Caution: anybody on that network can open it and see the plan.");
    // No terminal: addresses in words, and no picture of them.
    expect(out).not.toMatch(/[█▀▄]/);
    expect(await end()).toBe(130);
  });

  test.skipIf(local.length > 0)("is refused with 2 where this machine is on no local network", () => {
    const { status, out, err } = pulltest(["view", "--share"]);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain("this machine is on no local network");
  });

  // Every address that begins with 127 is this machine on Linux, and only there.
  test.skipIf(process.platform !== "linux")(
    "at two addresses: one port, and each answers to its own name alone",
    async () => {
      const page = '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'">';
      const { port, close } = await serve(page, { addresses: ["127.0.0.1", "127.0.0.2"], port: null });
      const statusFor = async (at: string, host: string) => (await ask(port, { at, host: `${host}:${port}` })).status;
      expect(await statusFor("127.0.0.1", "localhost")).toBe(200);
      expect(await statusFor("127.0.0.2", "127.0.0.2")).toBe(200);
      for (const host of ["localhost", "127.0.0.1", "quay.example"])
        expect(await statusFor("127.0.0.2", host)).toBe(421);
      expect(await statusFor("127.0.0.1", "127.0.0.2")).toBe(421);
      await expect(ask(port, { at: "127.0.0.3" })).rejects.toThrow(/ECONNREFUSED/);
      // Taken at the second address alone: nothing stays open at the first.
      await expect(serve(page, { addresses: ["127.0.0.3", "127.0.0.2"], port })).rejects.toThrow(/EADDRINUSE/);
      await expect(ask(port, { at: "127.0.0.3" })).rejects.toThrow(/ECONNREFUSED/);
      await close();
      for (const at of ["127.0.0.1", "127.0.0.2"]) await expect(ask(port, { at })).rejects.toThrow(/ECONNREFUSED/);
    },
  );

  test("every address is said in words, with a code only where a terminal takes colour and is wide enough", () => {
    const told = (columns: number | null, isPlain: boolean) => {
      let [out, err] = ["", ""];
      const ink = isPlain ? plainInk : (_style: string, text: string) => text;
      sayWhere(
        {
          what: "quay.json\u001b[2J",
          port: 8080,
          shared: {
            local: [
              { address: "192.168.1.20", over: "eth0" },
              { address: "10.0.0.5", over: "wlan0\u0007" },
            ],
            others: [{ address: "203.0.113.9", over: "eth1" }],
          },
        },
        {
          out: (text) => {
            out += text;
          },
          err: (text) => {
            err += text;
          },
          ...{
            ink: { out: ink, err: ink },
            columns,
            isWatched: false,
            workingFolder: ".",
            input: (async function* () {})(),
          },
        },
      );
      return { out, err };
    };
    const words = [
      "http://127.0.0.1:8080/  on this machine",
      "http://192.168.1.20:8080/  on the network at eth0",
      "http://10.0.0.5:8080/  on the network at wlan0\ufffd",
    ];
    for (const [columns, isPlain] of [
      [null, true],
      [null, false],
      [80, true],
      [30, false],
    ] as const)
      expect(told(columns, isPlain).out).toBe(`${words.join("\n")}\n`);
    const { out, err } = told(80, false);
    for (const line of words) expect(out).toContain(`${line}\n`);
    const blocks = out.split("\n").filter((line) => /[█▀▄]/.test(line));
    expect(blocks.length).toBeGreaterThan(24);
    // Black on white by the cube of the 256 colours (ECMA-48, 38;5 and 48;5 by xterm), to the end of each line.
    for (const line of blocks)
      expect(line.replaceAll("\u001b", "ESC")).toMatch(/^ESC\[38;5;16;48;5;231m[ █▀▄]+ESC\[0m$/);
    expect(err).toContain("Caution: anybody on that network can open it and see the plan.");
    expect(err).toContain("Not shared at 203.0.113.9 (eth1)");
    expect(err).not.toContain("\u001b");
  });

  test("addresses that routers pass on are left alone", () => {
    const at = (address: string, internal = false) => ({
      ...{ address, internal, family: "IPv4" as const, netmask: "255.255.255.0", mac: "00:00:00:00:00:00" },
      cidr: `${address}/24`,
    });
    const ours = ["10.0.0.1", "172.16.0.1", "172.31.255.254", "192.168.1.2", "169.254.7.7"];
    const theirs = ["172.15.0.1", "172.32.0.1", "192.169.1.1", "11.0.0.1", "2.0.0.5", "203.0.113.9", "100.64.0.1"];
    const found = ownAddresses({
      lo: [at("127.0.0.1", true)],
      one: ours.map((each) => at(each)),
      two: theirs.map((each) => at(each)),
    });
    expect(found.local.map(({ address }) => address)).toEqual(ours);
    expect(found.others.map(({ address }) => address)).toEqual(theirs);
  });

  test("the code in the terminal is the code, dark on light, with its quiet zone", () => {
    const text = "http://192.168.100.200:54321/";
    const lines = halfBlocks(text);
    // Back to modules: the upper and the lower half of each character.
    const rows = lines.flatMap((line) => [
      [...line].map((block) => block === "█" || block === "▀"),
      [...line].map((block) => block === "█" || block === "▄"),
    ]);
    const code = qrcode(0, "M");
    code.addData(text, "Byte");
    code.make();
    const count = code.getModuleCount();
    const width = count + 2 * QUIET_ZONE;
    expect(new Set(lines.map((line) => [...line].length))).toEqual(new Set([width]));
    const read = rows.map((row) => row.map((isDark) => (isDark ? 1 : 0)).join(""));
    const light = "0".repeat(QUIET_ZONE);
    for (let row = 0; row < count; row += 1) {
      const modules = Array.from({ length: count }, (_, column) => (code.isDark(row, column) ? 1 : 0)).join("");
      expect(read[row + QUIET_ZONE]).toBe(`${light}${modules}${light}`);
    }
    // ISO/IEC 18004: a finder in three corners, its dark ring seven modules wide.
    expect(read[QUIET_ZONE]?.slice(QUIET_ZONE, QUIET_ZONE + 8)).toBe("11111110");
    expect(read[QUIET_ZONE]?.slice(-QUIET_ZONE - 8, -QUIET_ZONE)).toBe("01111111");
    expect(read[QUIET_ZONE + count - 1]?.slice(QUIET_ZONE, QUIET_ZONE + 8)).toBe("11111110");
    for (const row of [...read.slice(0, QUIET_ZONE), ...read.slice(QUIET_ZONE + count)])
      expect(row).toBe("0".repeat(width));
  });
});
