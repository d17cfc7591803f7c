/** An oscillator as a scenario file describes it: offset, heat, ageing, wander. */
import * as z from "zod/mini";
import { OSCILLATOR_TYPES } from "./oscillators.ts";
import { celsius, numberAbove, numberFrom, offsetPpm, oneOf, only, orDefault, told } from "./scenario-values.ts";

/** Beyond this nothing that is called a clock would be: a microsecond lost or won in a second. */
const DEVIATION_MAX = 1e-6;

const deviations = only(
  {
    sigma1: told(numberFrom(0, DEVIATION_MAX, "s^½"), "White FM: its Allan deviation at 1 s."),
    sigma2: told(numberFrom(0, DEVIATION_MAX, "s^−½"), "Random-walk FM: √3 times its Allan deviation at 1 s."),
    sigma3: z.optional(told(numberFrom(0, DEVIATION_MAX, "s^−3/2"), "Random-walk drift. Default: 0.")),
    hMinus1: z.optional(
      told(numberFrom(0, 1e-12, ""), "Flicker FM as the power-law coefficient h−1, dimensionless. Default: 0."),
    ),
  },
  "deviations: an object with sigma1 and sigma2",
);

const powerLaw = only(
  {
    h0: told(numberFrom(0, 1e-12, "s"), "White FM, s."),
    hMinus1: z.optional(told(numberFrom(0, 1e-12, ""), "Flicker FM, dimensionless. Default: 0.")),
    hMinus2: told(numberFrom(0, 1e-12, "per s"), "Random-walk FM, per s."),
  },
  "power-law coefficients: an object with h0 and hMinus2",
);

const allanPoints = only(
  {
    allan: told(
      z
        .array(
          only(
            {
              seconds: told(numberFrom(0.001, 10_000_000, "s"), "τ"),
              deviation: told(
                numberFrom(1e-18, DEVIATION_MAX, "as a fraction of the frequency (1e-9 is 1 ppb)"),
                "Allan deviation there, as a fraction of the frequency.",
              ),
            },
            'a point: an object such as { "seconds": 1, "deviation": 1e-9 }',
          ),
          { error: "a list of points" },
        )
        .check(
          z.minLength(1, { error: "a list of at least one point" }),
          z.maxLength(50, { error: "a list of at most 50 points" }),
        ),
      "Points of Allan deviation from a data sheet, τ rising.",
    ),
  },
  "points of Allan deviation: an object with allan",
);

const wander = z.union([z.boolean(), deviations, powerLaw, allanPoints], {
  error: "true, false, or an object with sigma1 and sigma2, with h0 and hMinus2, or with allan",
});

const tempcoTable = z
  .array(
    only({ celsius, ppm: numberFrom(-1000, 1000, "ppm") }, 'a point: an object such as { "celsius": -10, "ppm": -3 }'),
    { error: "a list of points" },
  )
  .check(
    z.minLength(2, { error: "a list of at least two points" }),
    z.maxLength(100, { error: "a list of at most 100 points" }),
  );

export const oscillator = only(
  {
    type: orDefault("device", "oscillator.type", oneOf(OSCILLATOR_TYPES)),
    offsetPpm: orDefault("device", "oscillator.offsetPpm", offsetPpm),
    tolerancePpm: z.optional(told(numberFrom(0, 1000, "ppm"), "Largest offset from nominal. Default: by type.")),
    ageingPpbPerDay: z.optional(
      told(
        numberFrom(-10_000, 10_000, "ppb a day"),
        "Steady change of frequency. Default: by type in a run of more than a day, else 0.",
      ),
    ),
    tempcoPpmPerCelsius: z.optional(
      told(numberFrom(-10, 10, "ppm per °C"), "Change with temperature, from 25 °C. Default: by type."),
    ),
    tempcoTable: z.optional(
      told(
        tempcoTable,
        "In place of tempcoPpmPerCelsius: offsets at rising temperatures, straight lines between, level beyond. " +
          "What counts is the difference from 25 °C, where offsetPpm holds.",
      ),
    ),
    warmUpPpm: z.optional(told(numberFrom(-1000, 1000, "ppm"), "Offset when stone cold, on top. Default: by type.")),
    warmUpSeconds: z.optional(told(numberAbove(0, 86_400, "s"), "Time constant of warming. Default: by type.")),
    coolDownSeconds: z.optional(
      told(numberAbove(0, 864_000, "s"), "Time constant of cooling without power. Default: by type."),
    ),
    wander: orDefault("device", "oscillator.wander", wander),
  },
  "an oscillator: an object",
);
