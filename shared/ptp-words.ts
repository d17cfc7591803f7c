/** What a device says of its clock in an IEEE 1588 election, as people write it and as it is compared. */

/**
 * clockClass (IEEE 1588-2008, Table 5, as quoted in public): 6 locked to a primary reference, 7 in holdover after it; 13
 * locked to a timescale of its own choice, 14 in holdover after it; 52 and 58 degraded from these, never a follower; 187
 * and 193 the same, may follow; 248 any other. 255, a follower only, is said by `followerOnly`.
 */
export const CLOCK_CLASSES = [6, 7, 13, 14, 52, 58, 187, 193, 248] as const;

/** clockAccuracy of IEEE 1588 from 0x20 on, one code after the other: the true time is no further away. */
export const CLOCK_ACCURACY_WORDS = [
  "25 ns",
  "100 ns",
  "250 ns",
  "1 us",
  "2.5 us",
  "10 us",
  "25 us",
  "100 us",
  "250 us",
  "1 ms",
  "2.5 ms",
  "10 ms",
  "25 ms",
  "100 ms",
  "250 ms",
  "1 s",
  "10 s",
  "over 10 s",
  "unknown",
] as const;
type ClockAccuracyWord = (typeof CLOCK_ACCURACY_WORDS)[number];

const FIRST_CODE = 0x20;
const UNKNOWN_CODE = 0xfe;

/** The code that is compared: 0x20 for 25 ns, up to 0x31 for over 10 s; 0xFE where it is unknown. */
export function clockAccuracyCode(word: ClockAccuracyWord): number {
  return word === "unknown" ? UNKNOWN_CODE : FIRST_CODE + CLOCK_ACCURACY_WORDS.indexOf(word);
}
