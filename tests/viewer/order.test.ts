import { expect, test } from "vitest";
import { inPageOrder } from "../../viewer/order.ts";
import { buildRun, device, feed, link, RUN_SECONDS } from "../browser/fixture.ts";

const ids = (list: readonly { readonly id: string }[]) => list.map(({ id }) => id);
const locked = [{ state: "locked", source: "1", fromSeconds: 0, toSeconds: RUN_SECONDS }] as const;

test("devices stand by hops from the leader, then by name with numbers as numbers; the rest by number too", () => {
  const chain = Array.from({ length: 12 }, (_, index) => `d${index}`);
  const run = buildRun({
    leaders: ["d0"],
    devices: [
      // Handed over as text sorts them: d0, d1, d10, d11, d2 …
      ...[...chain].sort().map((id) => device(id, id.toUpperCase(), id === "d0" ? ["internal"] : ["1"])),
      device("far", "A far one on its own", ["internal"]),
      device("b10", "Box 10", ["1"]),
      device("b9", "Box 9", ["1"]),
    ],
    links: [
      ...chain.slice(1).map((id, index) => link(`l${index + 1}`, [`d${index}`, 2], [id, 1])),
      link("l30", ["d0", 4], ["b10", 1]),
      link("l20", ["d0", 3], ["b9", 1]),
    ],
    feeds: [feed("x", "Mix 10", ["d0", "b9"], [{ link: "l20", way: "there" }], ["wedges"])].concat(
      feed("y", "Mix 9", ["d0", "b9"], [{ link: "l20", way: "there" }], ["wedges"]),
    ),
    states: Object.fromEntries([...chain.slice(1), "b9", "b10"].map((id) => [id, locked])),
  });
  const { summary, plan } = inPageOrder(run);
  expect(ids(summary.devices)).toEqual(["d0", "b9", "b10", ...chain.slice(1), "far"]);
  const links = [...new Set(ids(summary.links))];
  expect(links).toEqual([...chain.slice(1).map((_, index) => `l${index + 1}`), "l20", "l30"]);
  expect(ids(summary.feeds)).toEqual(["y", "x"]);
  expect(ids(plan.feeds)).toEqual(["y", "x"]);
});

test("while nobody listens yet, as in a cold start, the first choice of each counts", () => {
  const run = buildRun({
    leaders: ["z"],
    devices: [device("a", "A", ["1"]), device("b", "B", ["1"]), device("z", "Z", ["internal"])],
    links: [link("one", ["z", 1], ["b", 1]), link("two", ["b", 2], ["a", 1])],
    states: Object.fromEntries(
      ["a", "b", "z"].map((id) => [id, [{ state: "off", source: null, fromSeconds: 0, toSeconds: RUN_SECONDS }]]),
    ),
  });
  expect(ids(inPageOrder(run).summary.devices)).toEqual(["z", "b", "a"]);
});
