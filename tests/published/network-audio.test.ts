/**
 * Audio in packets. AES67-2018 and IEEE 802.1 are sold and could not be read: READ-AI is a public requirements file for
 * AES67-2018 that cites the clause and is machine-assisted; READ-2 a second document; MEM from memory; CALC worked out.
 */
import { describe, expect, test } from "vitest";
import { channelsPerPacketMax, PAYLOAD_BYTES_MAX, samplesPerPacket } from "../../shared/stream-types.ts";

const BYTES_PER_SAMPLE = 3; // 24 bit

describe("AES67-2018 (as quoted in a public requirements file, READ-AI; agrees with MEM)", () => {
  test.each([
    { microseconds: 1000, hz: 44_100, samples: 48 },
    { microseconds: 1000, hz: 48_000, samples: 48 },
    { microseconds: 1000, hz: 96_000, samples: 96 },
    { microseconds: 125, hz: 44_100, samples: 6 },
    { microseconds: 125, hz: 48_000, samples: 6 },
    { microseconds: 125, hz: 96_000, samples: 12 },
    { microseconds: 250, hz: 48_000, samples: 12 },
    { microseconds: 333, hz: 48_000, samples: 16 },
    { microseconds: 4000, hz: 48_000, samples: 192 },
  ])("a packet of $microseconds µs at $hz Hz holds $samples samples", ({ microseconds, hz, samples }) => {
    expect(samplesPerPacket(microseconds, hz)).toBe(samples);
  });

  test("receivers take 1 to 8 channels, and eight of 24 bit in 1 ms are 1,152 bytes", () => {
    expect(channelsPerPacketMax("aes67", 1000, 48_000)).toBe(8);
    const payload = channelsPerPacketMax("aes67", 1000, 48_000) * samplesPerPacket(1000, 48_000) * BYTES_PER_SAMPLE;
    expect(payload).toBe(1152);
    expect(payload).toBeLessThanOrEqual(PAYLOAD_BYTES_MAX);
  });

  test("of 4 ms there is room for two channels, since 1,440 bytes are all (limit MEM, division CALC)", () => {
    const samples = samplesPerPacket(4000, 48_000);
    expect(channelsPerPacketMax("aes67", 4000, 48_000)).toBe(
      Math.floor(PAYLOAD_BYTES_MAX / (samples * BYTES_PER_SAMPLE)),
    );
    expect(channelsPerPacketMax("aes67", 4000, 48_000)).toBe(2);
  });
});
