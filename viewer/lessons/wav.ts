/** One channel as a WAV file: RIFF WAVE, PCM of 16 bits, in a header of 44 bytes. */

export const HEADER_BYTES = 44;

/** Samples from −1 to 1; what lies beyond is held there. */
export function wavBytes(samples: Float32Array, sampleRateHz: number): Uint8Array<ArrayBuffer> {
  const bytes = new Uint8Array(HEADER_BYTES + 2 * samples.length);
  const view = new DataView(bytes.buffer);
  const letters = (at: number, text: string) => {
    for (let index = 0; index < text.length; index += 1) bytes[at + index] = text.charCodeAt(index);
  };
  letters(0, "RIFF");
  view.setUint32(4, bytes.length - 8, true);
  letters(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true); // PCM
  view.setUint16(22, 1, true); // one channel
  view.setUint32(24, sampleRateHz, true);
  view.setUint32(28, 2 * sampleRateHz, true);
  view.setUint16(32, 2, true);
  view.setUint16(34, 16, true);
  letters(36, "data");
  view.setUint32(40, 2 * samples.length, true);
  samples.forEach((sample, index) => {
    view.setInt16(HEADER_BYTES + 2 * index, Math.round(Math.min(Math.max(sample, -1), 1) * 32767), true);
  });
  return bytes;
}
