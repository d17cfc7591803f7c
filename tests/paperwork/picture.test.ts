/** The picture of a rig: what is named stays readable, whatever lies beside what. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { rigPicture } from "../../cli/print/paperwork/picture.ts";
import { wordSize } from "../../cli/print/paperwork/words-at-lines.ts";
import type { Plan } from "../../shared/plan.ts";
import { device, link, planOf } from "../helpers/plan.ts";
import { shippedPlans } from "../helpers/shipped.ts";

/**
 * Advance widths in hundredths of the size of type, DejaVu Sans, as Chromium measures them (`measureText`, read at 100
 * px); of its line, ascent and descent: 11 + 3 px at 12 px.
 */
const ADVANCES: Readonly<Record<number, string>> = {
  ...{
    27: "'",
    28: "ijl",
    29: "IJ",
    32: " ,.",
    34: "/:;\\|",
    35: "f",
    36: "-",
    39: "()[]t",
    40: "!",
    41: "r",
    46: '"',
  },
  ...{ 50: "*_`", 52: "sz", 53: "?", 55: "c", 56: "L", 58: "Fk", 59: "vxy", 60: "P", 61: "TYao", 62: "e" },
  ...{ 63: "ESbdghnpqu", 64: "$0123456789{}", 66: "K", 68: "AV", 69: "BRXZ", 70: "C", 73: "U", 75: "HN", 77: "DG" },
  ...{ 78: "&", 79: "OQ", 82: "w", 84: "#+<=>^~", 86: "M", 95: "%", 97: "m", 99: "W", 100: "@" },
};
const ADVANCE = new Map(
  Object.entries(ADVANCES).flatMap(([of, all]) => [...all].map((one) => [one, Number(of) / 100])),
);
const widthOf = (text: string) => [...text].reduce((sum, letter) => sum + (ADVANCE.get(letter) ?? Number.NaN), 0);

interface Box {
  readonly text: string;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

const plain = (text: string) => text.replaceAll("&lt;", "<").replaceAll("&gt;", ">").replaceAll("&amp;", "&");

function readPicture(svg: string) {
  const words = [...svg.matchAll(/<text class="word" x="([\d.-]+)" y="([\d.-]+)" text-anchor="middle">([^<]*)</g)].map(
    ([, x, y, said]): Box => {
      const text = plain(said as string);
      const half = (widthOf(text) * 12) / 2;
      return { text, left: Number(x) - half, right: Number(x) + half, top: Number(y) - 11, bottom: Number(y) + 3 };
    },
  );
  const devices = [...svg.matchAll(/<g><rect x="([\d.-]+)" y="([\d.-]+)" width="([\d.-]+)" height="([\d.-]+)"/g)].map(
    ([, ...sides]): Box => {
      const [left = 0, top = 0, width = 0, height = 0] = sides.map(Number);
      return { text: "(device)", left, right: left + width, top, bottom: top + height };
    },
  );
  const lines = [...svg.matchAll(/<path class="(?:wire|thin)" d="M([\d. -]+)C/g)].map(([, at]) =>
    (at as string).split(" ").map(Number),
  );
  const [, width, height] = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(svg) ?? [];
  return { words, devices, lines, width: Number(width), height: Number(height) };
}

/** Some 100 on each cubic curve of a path of "M x y C x y x y x y …". */
function pointsOn(path: string): readonly (readonly [number, number])[] {
  const numbers = path.match(/-?[\d.]+/g)!.map(Number);
  const corners = Array.from({ length: numbers.length / 2 }, (_, index) => [
    numbers[2 * index]!,
    numbers[2 * index + 1]!,
  ]);
  return Array.from({ length: (corners.length - 1) / 3 }, (_, index) =>
    corners.slice(3 * index, 3 * index + 4),
  ).flatMap((curve) =>
    Array.from({ length: 101 }, (_, step) => {
      const t = step / 100;
      const weights = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t ** 3];
      const at = (side: 0 | 1) => weights.reduce((sum, weight, corner) => sum + weight * curve[corner]![side]!, 0);
      return [at(0), at(1)] as const;
    }),
  );
}

function distance({ left, right, top, bottom }: Box, [x, y]: readonly [number, number]): number {
  return Math.hypot(Math.max(left - x, x - right, 0), Math.max(top - y, y - bottom, 0));
}

/** Pairs of words, or of a word and a device, of which one lies on the other; and words that leave the paper. */
function faults(svg: string): readonly string[] {
  const { words, devices, width, height } = readPicture(svg);
  const meet = (one: Box, other: Box) =>
    one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
  return [
    ...words.flatMap((one, index) =>
      [...words.slice(index + 1), ...devices]
        .filter((other) => meet(one, other))
        .map(({ text }) => `${one.text} on ${text}`),
    ),
    ...words
      .filter(({ left, right, top, bottom }) => left < 0 || top < 0 || right > width || bottom > height)
      .map(({ text }) => `${text} outside`),
  ];
}

/** Devices around one that leads, with so many cables to each, of which the first is the main and the others are spares. */
function bundles(counts: readonly number[], named: (place: number, nth: number) => string): Plan {
  const ids = counts.map((_, place) => `box-${place}`);
  const cables = counts.map((count, place) =>
    Array.from({ length: count }, (_, nth) =>
      link(`foh.${10 * place + nth}`, `box-${place}.${nth}`, { id: named(place, nth) }),
    ),
  );
  const plan = planOf({
    seconds: 60,
    devices: [
      device("foh", ["internal"], { name: "FOH desk" }),
      ...ids.map((id, place) =>
        device(id, counts[place] === 0 ? ["internal"] : ["0"], { name: `Stage box ${place + 1}` }),
      ),
    ],
    links: cables.flat(),
  });
  return {
    ...plan,
    leaders: ["foh"],
    spares: cables.flatMap((all, place) =>
      all.length < 2
        ? []
        : [
            {
              ...{ id: `spare-${place}`, links: all.map(({ id }) => id), mode: "standby" as const, switchSeconds: 0.3 },
              ...{ revertive: true, waitToRestoreSeconds: 0 },
            },
          ],
    ),
  };
}

describe("names of cables in the picture of a rig", () => {
  it("all stand there, and none on another or on a device, in every shipped scenario", () => {
    let count = 0;
    for (const [name, plan] of shippedPlans()) {
      const svg = rigPicture(plan);
      const wanted = new Set(
        plan.links
          .filter(({ stream, a, b }) => stream === undefined && a.device !== b.device)
          .map(({ id, line }) => line?.id ?? id),
      );
      expect(
        readPicture(svg)
          .words.map(({ text }) => text.replace(" (spare)", ""))
          .sort(),
        name,
      ).toEqual([...wanted].sort());
      expect(faults(svg), name).toEqual([]);
      expect(rigPicture(plan), name).toBe(svg);
      count += wanted.size;
    }
    expect(count).toBeGreaterThan(150);
  });

  it("each stand nearest to its own line in every shipped scenario, and in a bundle", () => {
    let count = 0;
    const bundle = bundles([3, 1], (place, nth) => `cable-${place}-${nth}`);
    for (const [name, plan] of [...shippedPlans(), ["bundle", bundle] as const]) {
      const svg = rigPicture(plan);
      const drawn = plan.links.filter(({ stream, a, b }) => stream === undefined && a.device !== b.device);
      const curves = [...svg.matchAll(/<path class="(?:wire|thin)" d="([^"]*)"/g)].map(([, path]) => pointsOn(path!));
      expect(curves).toHaveLength(drawn.length);
      for (const word of readPicture(svg).words) {
        // A line with taps has its name at its last one.
        const own = drawn.findLastIndex(({ id, line }) => (line?.id ?? id) === word.text.replace(" (spare)", ""));
        const away = curves.map((points) => Math.min(...points.map((point) => distance(word, point))));
        expect(away[own], `${name}: ${word.text}`).toBeLessThanOrEqual(Math.min(...away) + 0.5);
        count += 1;
      }
    }
    expect(count).toBeGreaterThan(150);
  });

  it("so too where main and spares lie beside each other, however long their names are", () => {
    const letters = fc.constantFrom(..."abcdefghijklmnopqrstuvwxyzMW0123456789-");
    const name = fc.array(letters, { minLength: 1, maxLength: 20, size: "max" }).map((all) => all.join(""));
    let [spares, wide] = [0, 0];
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 1, max: 3 }), { minLength: 1, maxLength: 5 }),
        fc.array(name, { minLength: 15, maxLength: 15 }),
        (counts, names) => {
          const plan = bundles(counts, (place, nth) => `${names[3 * place + nth]}-${place}${nth}`);
          const svg = rigPicture(plan);
          const { words } = readPicture(svg);
          expect(words).toHaveLength(plan.links.length);
          expect(faults(svg)).toEqual([]);
          spares += words.filter(({ text }) => text.endsWith(" (spare)")).length;
          // Wider than columns stand apart for words of common length.
          wide += words.filter(({ left, right }) => right - left > 150).length;
        },
      ),
      { seed: 7, numRuns: 80 },
    );
    expect(spares).toBeGreaterThan(100);
    expect(wide).toBeGreaterThan(100);
  });

  it("stand on the far sides of a main and its spare", () => {
    const { words, lines } = readPicture(rigPicture(bundles([2], (_, nth) => ["main", "second"][nth]!)));
    const [main, spare] = lines.map(([, y]) => y!);
    const at = (text: string) => words.find((word) => word.text === text)!;
    // The slope of the lines between them is the same.
    expect(spare! - main!).toBeLessThan(20);
    expect(at("main").bottom).toBeLessThan(main!);
    expect(at("second (spare)").top).toBeGreaterThan(spare!);
  });

  it("are left out where there is no room, never put on another", () => {
    const ids = Array.from({ length: 9 }, (_, place) => `box-${place}`);
    const links = ids.flatMap((one, place) =>
      ids.slice(place + 1).map((other) =>
        link(`${one}.${other.slice(-1)}`, `${other}.${place}`, {
          id: `a-cable-with-a-long-name-from-${one}-to-${other}`,
        }),
      ),
    );
    const svg = rigPicture(planOf({ seconds: 60, devices: ids.map((id) => device(id, ["internal"])), links }));
    expect(faults(svg)).toEqual([]);
    const { words } = readPicture(svg);
    expect(words.length).toBeGreaterThan(5);
    expect(words.length).toBeLessThan(links.length);
  });

  it("are taken for at least as wide as they are in a wide face", () => {
    for (const [letter, advance] of ADVANCE)
      expect(wordSize(letter).width, letter).toBeGreaterThanOrEqual(12 * advance);
    expect(ADVANCE.size).toBe(95);
  });

  it("would be found to lie on each other", () => {
    const word = (x: number, y: number) => `<text class="word" x="${x}" y="${y}" text-anchor="middle">main</text>`;
    const box = '<g><rect x="200" y="0" width="50" height="50"/></g>';
    const svg = (...parts: string[]) => `<svg class="rig" viewBox="0 0 300 100">${parts.join("")}</svg>`;
    expect(faults(svg(word(50, 50), word(60, 55), box))).toEqual(["main on main"]);
    expect(faults(svg(word(50, 50), word(210, 30), box))).toEqual(["main on (device)"]);
    expect(faults(svg(word(5, 50), word(50, 70), box))).toEqual(["main outside"]);
    expect(faults(svg(word(50, 50), word(50, 70), box))).toEqual([]);
  });
});
