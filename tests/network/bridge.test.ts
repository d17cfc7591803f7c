/** One bridge by itself: what comes in, what leaves. */
import { describe, expect, test } from "vitest";
import { ZERO } from "../../shared/time.ts";
import type { Carrier, Frame, Mail } from "../../sim/mail.ts";
import type { BridgeSpec, BridgeState } from "../../sim/network/bridge.ts";
import { makeBridge } from "../../sim/network/bridge.ts";

const UP: Carrier = { up: true, carries: true };
const BROKEN: Carrier = { up: true, carries: false };
const DOWN: Carrier = { up: false, carries: false };

/** Ports 1 and 2 lead to other bridges, 3 to a device; all up and passing packets on. */
const SPEC: BridgeSpec = {
  id: "bridge foh",
  device: "foh",
  ports: [1, 2, 3],
  timing: "plain",
  residenceSeconds: 5e-6,
  varianceSeconds2: 3e-12,
  isUplink: [true, true, false],
  inner: 1,
  streamsOut: [null, null, null],
  begin: { alive: true, up: [1, 2, 3], forwarding: [1, 2], isFlooded: false },
};

const path = { forthSeconds: 1e-6, backSeconds: 2e-6, varianceSeconds2: 1e-12, bridges: 2 };
const clock = (key = "clock mon.1", mark = 0): Frame => ({
  key,
  body: { kind: "clock", train: { mark } as never, signal: null },
  path,
});
const stream = (id: string): Frame => ({ key: `stream ${id}`, body: { kind: "stream" }, path });
const gone = (key: string): Frame => ({ key, body: null, path });

function freeze<T>(value: T): T {
  if (typeof value === "object" && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    for (const part of Object.values(value)) freeze(part);
  }
  return value;
}

/** Plays mail on a bridge, all that goes in frozen, and writes down what leaves: "2 clock mon.1", "2 -clock mon.1". */
function onTable(changes: Partial<BridgeSpec> = {}) {
  const machine = makeBridge({ ...SPEC, ...changes });
  let state: BridgeState = freeze(machine.start(ZERO).state);
  const sent: { port: number; mail: Mail }[] = [];
  const hear = (port: number, mail: Mail): string[] => {
    const step = machine.handle(state, freeze({ kind: "mail", port, mail, cause: -1 }), ZERO);
    state = freeze(step.state);
    return step.effects.map((effect) => {
      if (effect.do !== "send") throw new Error("a bridge records nothing");
      sent.push(effect);
      const { mail: said } = effect;
      if (said.kind === "frame") return `${effect.port} ${said.frame.body === null ? "-" : ""}${said.frame.key}`;
      if (said.kind === "neighbours") return `${effect.port} neighbours ${said.up.join(",")}`;
      if (said.kind === "carrier") return `${effect.port} carrier ${said.carrier.up} ${said.carrier.carries}`;
      throw new Error(said.kind);
    });
  };
  const k = (changes.ports ?? SPEC.ports).length;
  return {
    start: machine.start(ZERO),
    frame: (port: number, frame: Frame) => hear(port, { kind: "frame", frame }),
    carrier: (port: number, carrier: Carrier) => hear(port, { kind: "carrier", carrier }),
    alive: (alive: boolean) => hear(k, { kind: "status", status: { alive, takes: [], clockClass: null } }),
    forwarding: (...ports: number[]) => hear(k + 1, { kind: "forwarding", ports, isFlooded: false }),
    node: (attachment: number, frame: Frame) => hear(k + 2 + attachment, { kind: "frame", frame }),
    lastFrame: (): Frame => {
      const mail = sent.at(-1)?.mail;
      if (mail?.kind !== "frame") throw new Error("no frame");
      return mail.frame;
    },
    state: () => state,
  };
}

describe("frames", () => {
  test("go out of every other port and to the node, and hold until replaced or withdrawn", () => {
    const bridge = onTable();
    expect(bridge.start.effects).toEqual([]);
    expect(bridge.frame(0, clock())).toEqual(["1 clock mon.1", "2 clock mon.1", "4 clock mon.1"]);
    expect(bridge.node(0, clock("clock foh.1"))).toEqual(["0 clock foh.1", "1 clock foh.1", "2 clock foh.1"]);
    expect(bridge.frame(0, clock("clock mon.1", 1))).toEqual(["1 clock mon.1", "2 clock mon.1", "4 clock mon.1"]);
    expect(bridge.frame(0, gone("clock mon.1"))).toEqual(["1 -clock mon.1", "2 -clock mon.1", "4 -clock mon.1"]);
    expect(bridge.frame(0, gone("clock mon.1"))).toEqual([]);
  });

  test("of one key that arrive by two ports: the last one leaves, and the other again when it is withdrawn", () => {
    const bridge = onTable();
    bridge.frame(0, clock("clock mon.1", 1));
    // The first arrival goes on towards the second port; the second replaces it elsewhere.
    expect(bridge.frame(1, clock("clock mon.1", 2))).toEqual(["0 clock mon.1", "2 clock mon.1", "4 clock mon.1"]);
    expect(bridge.frame(2, gone("clock mon.1"))).toEqual([]);
    expect(bridge.frame(1, gone("clock mon.1"))).toEqual(["0 -clock mon.1", "2 clock mon.1", "4 clock mon.1"]);
    expect(bridge.lastFrame().body).toEqual(clock("clock mon.1", 1).body);
  });

  test("stop with the cable that brings them, and are said again into one that is back", () => {
    const bridge = onTable();
    bridge.frame(0, clock());
    bridge.node(0, clock("clock foh.1"));
    expect(bridge.carrier(0, BROKEN)).toEqual(["1 -clock mon.1", "2 -clock mon.1", "4 -clock mon.1"]);
    expect(bridge.frame(0, clock())).toEqual([]);
    expect(bridge.carrier(0, DOWN)).toEqual(["3 neighbours 2"]);
    expect(bridge.carrier(0, UP)).toEqual(["3 neighbours 1,2", "0 clock foh.1"]);
    // Out of step with what was said: a break that it was not told of.
    expect(bridge.carrier(0, UP)).toEqual(["0 clock foh.1"]);
  });
});

describe("ports that do not pass packets on", () => {
  test("keep what they hear, and pass it on when they begin again", () => {
    const bridge = onTable();
    bridge.frame(0, clock());
    bridge.frame(2, clock("clock rec.1"));
    expect(bridge.forwarding(2)).toEqual(["1 -clock mon.1", "2 -clock mon.1", "4 -clock mon.1", "0 -clock rec.1"]);
    expect(bridge.frame(0, clock("clock mon.1", 1))).toEqual([]);
    expect(bridge.frame(0, stream("x"))).toEqual([]);
    expect(bridge.forwarding(1, 2)).toEqual([
      ...["1 clock mon.1", "2 clock mon.1", "4 clock mon.1", "0 clock rec.1"],
      ...["1 stream x", "2 stream x", "4 stream x"],
    ]);
  });

  test("are none of those that lead to devices", () => {
    const bridge = onTable();
    bridge.forwarding();
    expect(bridge.frame(2, clock())).toEqual(["4 clock mon.1"]);
    expect(bridge.frame(0, clock("clock x.1"))).toEqual([]);
  });
});

describe("neighbours", () => {
  test("are ports to other bridges whose cable is not known to be broken; none without power", () => {
    const bridge = onTable();
    expect(bridge.carrier(2, DOWN)).toEqual([]);
    expect(bridge.carrier(0, BROKEN)).toEqual([]);
    expect(bridge.carrier(0, DOWN)).toEqual(["3 neighbours 2"]);
    expect(bridge.alive(false)).toEqual(["3 neighbours ", "4 carrier false false"]);
    expect(bridge.carrier(0, UP)).toEqual([]);
    expect(bridge.alive(true)).toEqual(["3 neighbours 1,2", "4 carrier true true"]);
  });
});

test("a device that dies passes nothing on and forgets; back, it hears everything anew", () => {
  const bridge = onTable();
  bridge.frame(0, clock());
  bridge.node(0, clock("clock foh.1"));
  expect(bridge.alive(false)).toEqual([
    ...["3 neighbours ", "4 carrier false false"],
    ...["1 -clock mon.1", "2 -clock mon.1", "4 -clock mon.1", "0 -clock foh.1", "1 -clock foh.1", "2 -clock foh.1"],
  ]);
  expect(bridge.frame(0, clock())).toEqual([]);
  expect(bridge.node(0, clock("clock foh.1"))).toEqual([]);
  expect(bridge.state().standing).toEqual([]);
  expect(bridge.alive(true)).toEqual(["3 neighbours 1,2", "4 carrier true true"]);
  expect(bridge.frame(0, clock())).toEqual(["1 clock mon.1", "2 clock mon.1", "4 clock mon.1"]);
});

describe("what a bridge adds to the path", () => {
  test("plain: the wait, both ways, and its variance", () => {
    const bridge = onTable();
    bridge.frame(0, clock());
    expect(bridge.lastFrame().path).toEqual({
      forthSeconds: 1e-6 + 5e-6,
      backSeconds: 2e-6 + 5e-6,
      varianceSeconds2: 1e-12 + 3e-12,
      bridges: 3,
    });
  });

  test("transparent: itself, and no wait; of a stream the wait all the same", () => {
    const bridge = onTable({ timing: "transparent" });
    bridge.frame(0, clock());
    expect(bridge.lastFrame().path).toEqual({ ...path, bridges: 3 });
    bridge.frame(0, stream("x"));
    expect(bridge.lastFrame().path.forthSeconds).toBe(1e-6 + 5e-6);
  });
});

describe("boundary", () => {
  const boundary = () => onTable({ timing: "boundary", inner: 3 });

  test("clock goes between a port and the attachment of the same number, with nothing added", () => {
    const bridge = boundary();
    expect(bridge.frame(1, clock())).toEqual(["5 clock mon.1"]);
    expect(bridge.lastFrame().path).toEqual(path);
    expect(bridge.node(2, clock("clock foh.3"))).toEqual(["2 clock foh.3"]);
    // One key by two ports: to each attachment what came by its own.
    expect(bridge.frame(2, clock())).toEqual(["6 clock mon.1"]);
    expect(bridge.frame(1, gone("clock mon.1"))).toEqual(["5 -clock mon.1"]);
  });

  test("streams go from port to port, and to the first attachment", () => {
    const bridge = boundary();
    expect(bridge.frame(1, stream("x"))).toEqual(["0 stream x", "2 stream x", "4 stream x"]);
    expect(bridge.node(1, stream("own"))).toEqual(["0 stream own", "1 stream own", "2 stream own"]);
  });

  test("an attachment has the carrier of its port", () => {
    const bridge = boundary();
    expect(bridge.carrier(1, BROKEN)).toEqual(["5 carrier true false"]);
    expect(bridge.carrier(1, DOWN)).toEqual(["3 neighbours 1", "5 carrier false false"]);
    expect(bridge.alive(false)).toEqual(["3 neighbours ", "4 carrier false false", "6 carrier false false"]);
    expect(bridge.alive(true)).toEqual(["3 neighbours 1", "4 carrier true true", "6 carrier true true"]);
  });
});

test("a stream leaves only where it may; clock everywhere", () => {
  const bridge = onTable({ streamsOut: [null, new Set(["x"]), new Set()] });
  expect(bridge.node(0, stream("x"))).toEqual(["0 stream x", "1 stream x"]);
  expect(bridge.node(0, stream("y"))).toEqual(["0 stream y"]);
  expect(bridge.node(0, clock("clock foh.1"))).toEqual(["0 clock foh.1", "1 clock foh.1", "2 clock foh.1"]);
});
