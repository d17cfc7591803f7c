/** Networks in a file: what is read, what is assumed, and what is refused with which words. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { formatIssue } from "../../shared/issues.ts";
import type { DevicePlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { tries } from "../helpers/laws.ts";
import { networkExample } from "../helpers/network-example.ts";
import { plan, read } from "../helpers/rig.ts";

// biome-ignore lint/suspicious/noExplicitAny: each case spoils the file in its own way
type Change = (scenario: any) => void;

function changed(change: Change) {
  const scenario = networkExample();
  change(scenario);
  return scenario;
}
const issuesOf = (change: Change): string[] => read(changed(change)).issues.map(formatIssue);
const planOf = (change: Change = () => undefined): Plan => plan(changed(change));
const deviceIn = (made: Plan, id: string): DevicePlan => made.devices.find((one) => one.id === id)!;
const linkIn = (made: Plan, id: string): LinkPlan => made.links.find((one) => one.id === id)!;
const linesOf = (made: Plan, start: string) => made.assumed.filter((line) => line.startsWith(start));
/** Everything of the second network out, and what is said about the first. */
const oneNetwork: Change = (s) => {
  delete s.rig.networks;
  s.rig.links = s.rig.links.filter(({ network }: { network?: string }) => network !== "blue");
  s.rig.links = s.rig.links.filter(({ type }: { type: string }) => type !== "avb");
  for (const link of s.rig.links) delete link.network;
  s.rig.devices[2].clockSources = ["1"];
};

describe("networks and ethernet cables", () => {
  it("are read, sorted by id, with the numbers of their profile filled in", () => {
    expect(planOf().networks).toEqual([
      { id: "blue", name: "blue", profile: "aes67", domain: 7, recovery: "none" },
      { id: "red", name: "Red network", profile: "st2059-2", domain: 127, recovery: "rapid-spanning-tree" },
    ]);
    expect(linesOf(planOf(), "network ")).toEqual(["network profile aes67: blue", "network recovery none: blue"]);
  });

  it("are one network where the file names none, and none where there is no ethernet cable", () => {
    const made = planOf(oneNetwork);
    expect(made.networks).toEqual([{ id: "network", name: "network", profile: "aes67", domain: 0, recovery: "none" }]);
    expect(linesOf(made, "network ")).toEqual(["network profile aes67: network", "network recovery none: network"]);
    expect(linkIn(made, "trunk").ethernet?.network).toBe("network");
    const bare = planOf((s) => {
      delete s.rig.networks;
      s.rig.links = [{ id: "to-amp", type: "aes3", from: "foh.3", to: "amp.1" }];
      s.rig.feeds = [];
      for (const device of s.rig.devices) if (device.id !== "amp") delete device.clockSources;
    });
    expect(bare.networks).toBeUndefined();
    expect(bare.devices.filter(({ ptp, bridge }) => ptp !== undefined || bridge !== undefined)).toEqual([]);
  });

  it("take twice the delay there and back, and differ by the asymmetry", () => {
    const trunk = linkIn(planOf(), "trunk");
    expect(trunk).toMatchObject({
      twoWay: true,
      clockIsAgreed: false,
      channels: 0,
      latencySeconds: 0,
      medium: "fibre",
    });
    expect(trunk.delaySeconds).toBeCloseTo(200 * 4.9e-9, 15);
    expect(trunk.ethernet).toEqual({ network: "red", asymmetrySeconds: -40e-9, bitsPerSecond: 1e9 });
    expect(linkIn(planOf(), "mon-red").ethernet?.bitsPerSecond).toBe(1e8);
  });

  it("belong to the only network that the file names, without saying so", () => {
    const made = planOf((s) => {
      oneNetwork(s);
      s.rig.networks = [{ id: "stage-net", profile: "802.1as" }];
    });
    expect(linkIn(made, "trunk").ethernet?.network).toBe("stage-net");
    // 802.1AS has priorities of its own.
    expect(deviceIn(made, "mon").ptp).toMatchObject({ priority1: 248, priority2: 248 });
    expect(deviceIn(made, "foh").ptp).toMatchObject({ priority1: 100, priority2: 248 });
  });
});

describe("a device on a network", () => {
  it("says of itself what the file says, and else what nobody has set up", () => {
    const made = planOf();
    expect(deviceIn(made, "foh").ptp).toMatchObject({ priority1: 100, clockClass: 13, clockAccuracy: 0x23 });
    expect(deviceIn(made, "mon").ptp).toMatchObject({
      priority1: 128,
      priority2: 128,
      clockClass: 248,
      clockAccuracy: 0xfe,
      offsetScaledLogVariance: 0xffff,
      followerOnly: false,
    });
    expect(deviceIn(made, "stage").ptp?.followerOnly).toBe(true);
    expect(deviceIn(made, "amp").ptp).toBeUndefined();
  });

  it("has an identity of its own, the same in every run, unless the file has one", () => {
    const identities = planOf().devices.flatMap(({ ptp }) => (ptp === undefined ? [] : [ptp.identity]));
    expect(new Set(identities).size).toBe(5);
    for (const identity of identities) expect(identity).toMatch(/^[0-9a-f]{16}$/);
    // sha256sum of "foh".
    expect(deviceIn(planOf(), "foh").ptp?.identity).toBe("58f2887c1621c071");
    const told = planOf((s) => Object.assign(s.rig.devices[0].ptp, { identity: "001B19FFFE0000AA" }));
    expect(deviceIn(told, "foh").ptp?.identity).toBe("001b19fffe0000aa");
  });

  it.each([
    ["25 ns", 0x20],
    ["1 us", 0x23],
    ["1 ms", 0x29],
    ["1 s", 0x2f],
    ["over 10 s", 0x31],
    ["unknown", 0xfe],
  ])("has the accuracy %s as the code that is compared", (clockAccuracy, code) => {
    const made = planOf((s) => Object.assign(s.rig.devices[0].ptp, { clockAccuracy }));
    expect(deviceIn(made, "foh").ptp?.clockAccuracy).toBe(code);
  });

  it("passes packets on if it is a switch or says so, a full frame later at the slowest of its cables", () => {
    const made = planOf();
    expect(deviceIn(made, "sw-foh").bridge).toEqual({
      timing: "plain",
      residenceSeconds: 5e-6,
      delayVariationSeconds: 12.304e-6,
      priority: 32_768,
    });
    expect(deviceIn(made, "sw-stage").bridge).toMatchObject({ timing: "boundary", priority: 4096 });
    expect(deviceIn(made, "sw-stage").bridge?.delayVariationSeconds).toBeCloseTo(123.04e-6, 12);
    expect(deviceIn(made, "foh").bridge).toBeUndefined();
    const wired = planOf((s) => {
      oneNetwork(s);
      s.rig.devices[1].bridge = true;
      s.rig.devices[3].bridge = false;
    });
    expect(deviceIn(wired, "mon").bridge?.timing).toBe("plain");
    expect(deviceIn(wired, "sw-foh").bridge).toBeUndefined();
  });

  it("offers no clock if it is a switch, but for one that is boundary: that follows its lowest port", () => {
    const made = planOf();
    expect(deviceIn(made, "sw-foh")).toMatchObject({ clockSources: ["internal"], ptp: { followerOnly: true } });
    expect(deviceIn(made, "sw-stage")).toMatchObject({ clockSources: ["9", "internal"], ptp: { followerOnly: false } });
    expect(linesOf(made, "clockSources")).toEqual(["clockSources 9, internal: sw-stage", "clockSources internal: foh"]);
    expect(linesOf(made, "bridge.").every((line) => line.endsWith(": sw-foh"))).toBe(true);
    expect(linesOf(made, "bridge.")).toHaveLength(3);
    const told = planOf((s) => Object.assign(s.rig.devices[4], { clockSources: ["24"] }));
    expect(deviceIn(told, "sw-stage").clockSources).toEqual(["24"]);
  });

  it("takes ptp and bridge from its type, and adds to them word by word", () => {
    const made = planOf((s) => {
      s.rig.deviceTypes = { core: { bridge: { timing: "transparent", priority: 8192 }, ptp: { priority1: 50 } } };
      Object.assign(s.rig.devices[3], { like: "core", bridge: { priority: 0 }, ptp: { priority2: 9 } });
    });
    expect(deviceIn(made, "sw-foh").bridge).toMatchObject({ timing: "transparent", priority: 0 });
    expect(deviceIn(made, "sw-foh").ptp).toMatchObject({ priority1: 50, priority2: 9 });
  });

  it("may have a converter at the port whose network it follows: only streams go through it", () => {
    const made = planOf((s) => Object.assign(s.rig.devices[1], { ports: { 1: { converter: true } } }));
    expect(deviceIn(made, "mon").converters).toMatchObject({ 1: { ratioMax: 8 } });
  });
});

describe("streams", () => {
  it("have the packets, the buffer and the latency of their type", () => {
    const made = planOf();
    expect(linkIn(made, "stage-foh")).toMatchObject({
      twoWay: false,
      hasReturn: false,
      channels: 32,
      latencySeconds: 0.003,
      buffer: { slipSamples: 48, depthSamples: 192, startSamples: 96 },
      stream: { network: "red", packetSeconds: 0.001, samplesPerPacket: 48, channelsPerPacket: 8 },
    });
    expect(linkIn(made, "stage-mon")).toMatchObject({
      buffer: { slipSamples: 6, depthSamples: 24, startSamples: 12 },
      stream: { network: "red", samplesPerPacket: 6, channelsPerPacket: 16 },
    });
    expect(linkIn(made, "stage-foh-blue")).toMatchObject({
      channels: 8,
      latencySeconds: 0.002,
      stream: { network: "blue", samplesPerPacket: 6, channelsPerPacket: 8 },
    });
    expect(linesOf(made, "buffer.slipSamples 48 samples")).toEqual(["buffer.slipSamples 48 samples: stage-foh"]);
  });

  // AES67-2018 as summarised in public: 1 ms is 48, 48 and 96 samples, 125 us 6, 6 and 12; the others at 48 kHz.
  it.each([
    [44_100, 1000, 48],
    [48_000, 1000, 48],
    [96_000, 1000, 96],
    [44_100, 125, 6],
    [48_000, 125, 6],
    [96_000, 125, 12],
    [48_000, 250, 12],
    [48_000, 333, 16],
    [48_000, 4000, 192],
  ])("have at %d Hz in %d µs %d samples a packet", (sampleRateHz, packetMicroseconds, samples) => {
    const made = planOf((s) => {
      s.rig.sampleRateHz = sampleRateHz;
      Object.assign(s.rig.links[5], { packetMicroseconds });
    });
    const { stream, buffer } = linkIn(made, "stage-foh");
    expect(stream?.samplesPerPacket).toBe(samples);
    expect(stream?.packetSeconds).toBe(samples / sampleRateHz);
    expect(buffer.slipSamples).toBe(samples);
  });

  it("never hold more in a packet than 1,440 bytes of 24 bit, nor than their type has channels", () => {
    let full = 0;
    fc.assert(
      fc.property(
        fc.constantFrom("aes67", "st2110-30", "avb"),
        fc.constantFrom(44_100, 48_000, 96_000, 192_000),
        fc.nat(),
        fc.integer({ min: 1, max: 512 }),
        (type, sampleRateHz, pick, channels) => {
          const lengths = { aes67: [125, 250, 333, 1000, 4000], "st2110-30": [125, 1000], avb: [125, 250] }[type]!;
          const packetMicroseconds = lengths[pick % lengths.length];
          const { plan: made, issues } = read(
            changed((s) => {
              s.rig.sampleRateHz = sampleRateHz;
              s.rig.links[5] = { id: "stage-foh", type, from: "stage.1", to: "foh.1", channels, packetMicroseconds };
            }),
          );
          if (made === null) {
            // 768 samples of three bytes: not one channel.
            expect([type, sampleRateHz, packetMicroseconds]).toEqual(["aes67", 192_000, 4000]);
            expect(issues.map(formatIssue).join()).toMatch(/packets short enough for one channel at 192000 Hz/);
            return;
          }
          const { samplesPerPacket = 0, channelsPerPacket = 0 } = linkIn(made, "stage-foh").stream ?? {};
          expect(channelsPerPacket).toBeGreaterThanOrEqual(1);
          expect(channelsPerPacket).toBeLessThanOrEqual(type === "aes67" ? Math.min(8, channels) : channels);
          expect(samplesPerPacket * channelsPerPacket * 3).toBeLessThanOrEqual(1440);
          if (channelsPerPacket < channels) full += 1;
        },
      ),
      tries(200),
    );
    expect(full).toBeGreaterThan(50);
  });

  it("take AVB's presentation time from the class, whatever the buffer", () => {
    const made = planOf((s) => Object.assign(s.rig.links[6], { packetMicroseconds: 250 }));
    expect(linkIn(made, "stage-foh-blue")).toMatchObject({ latencySeconds: 0.05, stream: { samplesPerPacket: 12 } });
  });

  it("may share a port with other streams and with the cable, and leave and join again", () => {
    const made = planOf((s) => s.events.push({ at: "00:01:00", do: "unplug", link: "stage-foh", forSeconds: 5 }));
    expect(
      made.events.map(({ atNs, undoes, written: _written, ...deed }) => ({ seconds: atNs / 1e9, undoes, ...deed })),
    ).toEqual([
      { seconds: 60, undoes: null, do: "unplug", link: "stage-foh", end: null, way: null, into: null },
      { seconds: 65, undoes: 0, do: "plug", link: "stage-foh", end: null, way: null, into: null },
    ]);
  });

  it("may run between ports that a cable is plugged into later", () => {
    const made = planOf((s) => {
      s.events.push({ at: "00:01:00", do: "unplug", link: "blue-lead", end: "foh" });
      s.events.push({ at: "00:01:10", do: "plug", link: "blue-lead", end: "foh", into: 8 });
      s.rig.links[6].to = "foh.8";
    });
    expect(linkIn(made, "stage-foh-blue").stream?.network).toBe("blue");
  });

  it("carry a feed", () => {
    const [mix] = planOf().feeds;
    expect(mix?.hops.map(({ over }) => over)).toEqual([
      [{ link: "stage-foh", way: "there" }],
      [{ link: "to-amp", way: "there" }],
    ]);
  });
});

describe("what is refused, and with which words", () => {
  const link = (id: string, words: object): Change => {
    return (s) =>
      Object.assign(
        s.rig.links.find((one: { id: string }) => one.id === id),
        words,
      );
  };
  const device = (id: string, words: object): Change => {
    return (s) =>
      Object.assign(
        s.rig.devices.find((one: { id: string }) => one.id === id),
        words,
      );
  };
  const event =
    (words: object): Change =>
    (s) =>
      s.events.push({ at: "00:01:00", ...words });
  const cases: readonly [string, Change, RegExp][] = [
    [
      "a cable that leaves open which network",
      link("trunk", { network: undefined }),
      /links\[3\]\.network: expected the network it belongs to, for this rig has several, received nothing; add "network", one of "red", "blue"$/,
    ],
    [
      "a network that is not there",
      link("trunk", { network: "rad" }),
      /expected the id of a network, received "rad"; did you mean "red"\?$/,
    ],
    [
      "a network twice",
      (s) => s.rig.networks.push({ id: "red" }),
      /networks\[2\]\.id: expected an id that no other network has, received "red"/,
    ],
    [
      "an asymmetry that the cable is too short for",
      link("blue-lead", { asymmetryNanoseconds: 900 }),
      /expected less than the cable takes there and back, 861 ns, received 900; make it smaller, or lengthMetres longer/,
    ],
    [
      "a speed that ethernet does not have",
      link("trunk", { megabitsPerSecond: 2500 }),
      /expected one of the numbers 100, 1000, 10000, received 2500; choose one of them$/,
    ],
    [
      "a stream at a port without ethernet",
      link("stage-foh", { to: "foh.9" }),
      /links\[5\]\.to: expected an ethernet port of "foh", received "foh\.9", where no ethernet link ends; choose from "foh\.1", "foh\.2", or add/,
    ],
    [
      "a stream at the port of another cable",
      link("stage-foh", { to: "foh.3" }),
      /received "foh\.3", where "to-amp" ends, which is aes3; choose from/,
    ],
    [
      "a stream to a device without ethernet",
      link("stage-foh", { to: "amp.7" }),
      /expected an ethernet port of "amp", received "amp\.7", where no ethernet link ends; add the ethernet link$/,
    ],
    [
      "a stream from one network to another",
      link("stage-foh", { to: "foh.2" }),
      /expected two ports on one network, received stage\.1 on "red", foh\.2 on "blue"; choose a port on "red"/,
    ],
    [
      "a stream to itself",
      link("stage-foh", { to: "stage.2" }),
      /another device than at the other end.+the stream goes to$/,
    ],
    [
      "a stream with ends",
      (s) => {
        delete s.rig.links[5].from;
        delete s.rig.links[5].to;
        s.rig.links[5].ends = ["stage.1", "foh.1"];
      },
      /expected "from" and "to" on AES67, which is a stream and runs one way, received "ends"; write "from"/,
    ],
    ["a stream with a return", link("stage-foh", { return: true }), /a stream of its own for the other way$/],
    [
      "a stream with a length",
      link("stage-foh", { lengthMetres: 5 }),
      /received "lengthMetres"; take it away; known here/,
    ],
    [
      "packets that the type does not have",
      link("stage-mon", { packetMicroseconds: 250 }),
      /expected one of the numbers 1000, 125, received 250; choose one of them$/,
    ],
    [
      "a buffer without room for a packet either way",
      link("stage-foh", { buffer: { depthSamples: 60 } }),
      /a depth of at least twice slipSamples, received slip 48, depth 60/,
    ],
    ["an ethernet cable with a buffer", link("trunk", { buffer: {} }), /received "buffer"; take it away/],
    [
      "two cables in one ethernet port",
      link("trunk", { ends: ["sw-foh.1", "sw-stage.24"] }),
      /a port that no other link uses \("foh-red" has this one\)/,
    ],
    [
      "a bridge between two networks",
      device("foh", { bridge: true }),
      /devices\[0\]\.bridge: expected cables of one network .+ received "foh", with cables of "red", "blue"; give all of them one network/,
    ],
    [
      "a bridge priority between the steps",
      device("sw-foh", { bridge: { priority: 5000 } }),
      /expected one of the numbers 0, 4096, 8192, .+ received 5000; choose one of them$/,
    ],
    [
      "a class that is none",
      device("foh", { ptp: { clockClass: "6" } }),
      /expected one of the numbers 6, 7, 13, .+ received "6"; choose one of them, without quotes$/,
    ],
    [
      "an accuracy in other words",
      device("foh", { ptp: { clockAccuracy: "1 µs" } }),
      /expected one of 25 ns, 100 ns, .+ received "1 µs"; did you mean "1 us"\?$/,
    ],
    [
      "an identity with colons",
      device("foh", { ptp: { identity: "00:1b:19:ff:fe:00:00:01" } }),
      /expected sixteen hexadecimal digits, .+; write digits 0 to 9 and letters a to f, without colons$/,
    ],
    [
      "an identity twice",
      (s) => {
        device("foh", { ptp: { identity: "00000000000000aa" } })(s);
        device("mon", { ptp: { identity: "00000000000000AA" } })(s);
      },
      /devices\[1\]\.ptp\.identity: expected an identity that no other device has \("foh" has this one\)/,
    ],
    [
      "a class beside followerOnly",
      device("foh", { ptp: { clockClass: 6, followerOnly: true } }),
      /ptp\.clockClass: expected no clockClass beside followerOnly: .+ received 6; take one of the two away$/,
    ],
    [
      "give and take on a network",
      device("mon", { ports: { 1: { clock: "give" } } }),
      /no give or take on port 1 of "mon": "mon-red" is ethernet, where devices elect who leads/,
    ],
    [
      "a converter where only packets without sound come",
      device("stage", { ports: { 1: { converter: true } } }),
      /a converter at a port of "stage" where audio arrives/,
    ],
    [
      "an end of a stream in an event",
      event({ do: "unplug", link: "stage-foh", end: "to" }),
      /events\[0\]\.end: expected no end: "stage-foh" is a stream, .+ leave end out, or name an ethernet cable/,
    ],
    [
      "another port for a stream",
      event({ do: "plug", link: "stage-foh", into: 2 }),
      /events\[0\]\.into: expected no into: "stage-foh" is a stream/,
    ],
  ];
  it.each(cases)("%s", (_, change, expected) => {
    expect(issuesOf(change).join("\n")).toMatch(expected);
  });

  it("is all said at once", () => {
    const found = issuesOf((s) => {
      s.rig.networks[1].domain = 200;
      s.rig.devices[0].ptp.priority1 = 300;
      s.rig.links[3].megabitsPerSecond = 7;
      s.rig.links[5].channels = 0;
      s.rig.devices[3].bridge = { timing: "none" };
    });
    expect(found).toHaveLength(5);
  });

  it("does not let a broken cable accuse the streams that it would carry", () => {
    const found = issuesOf(link("stage-red", { lengthMetres: -1 }));
    expect(found).toHaveLength(1);
    expect(found[0]).toMatch(/lengthMetres/);
  });
});

it("the order of networks, devices and links in the file changes nothing", () => {
  const sorted = JSON.stringify(planOf());
  fc.assert(
    fc.property(fc.infiniteStream(fc.boolean()), (flips) => {
      const scenario = networkExample();
      for (const list of [scenario.rig.networks, scenario.rig.devices, scenario.rig.links] as unknown[][])
        list.sort(() => (flips.next().value ? 1 : -1));
      expect(JSON.stringify(plan(scenario))).toBe(sorted);
    }),
    tries(30),
  );
});
