/**
 * SHA-256 (FIPS 180-4), so that the command and the page name a scenario by the same digest without asking their host:
 * a page opened from a file has no cryptography of its own to ask.
 */

/** FIPS 180-4, 4.2.2: the first 32 bits of the fractional parts of the cube roots of the first 64 primes. */
const K = new Uint32Array([
  0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5, 0xd807aa98,
  0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174, 0xe49b69c1, 0xefbe4786,
  0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da, 0x983e5152, 0xa831c66d, 0xb00327c8,
  0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967, 0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13,
  0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85, 0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819,
  0xd6990624, 0xf40e3585, 0x106aa070, 0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a,
  0x5b9cca4f, 0x682e6ff3, 0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7,
  0xc67178f2,
]);

/** FIPS 180-4, 5.3.3: the same of the square roots of the first eight primes. */
const START = [0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19];

/** The digest of `bytes` as 64 hexadecimal digits. */
export function sha256(bytes: Uint8Array): string {
  const blocks = padded(bytes);
  const view = new DataView(blocks.buffer);
  const digest = new Uint32Array(START);
  const w = new Uint32Array(64);
  for (let offset = 0; offset < blocks.length; offset += 64) {
    for (let t = 0; t < 16; t++) w[t] = view.getUint32(offset + 4 * t);
    for (let t = 16; t < 64; t++)
      w[t] = smallSigma1(at(w, t - 2)) + at(w, t - 7) + smallSigma0(at(w, t - 15)) + at(w, t - 16);
    compress(digest, w);
  }
  return Array.from(digest, (word) => word.toString(16).padStart(8, "0")).join("");
}

/** 5.1.1: the message, one set bit, zeros, and its length in bits in the last eight bytes. */
function padded(bytes: Uint8Array): Uint8Array<ArrayBuffer> {
  const blocks = new Uint8Array(64 * Math.ceil((bytes.length + 9) / 64));
  blocks.set(bytes);
  blocks[bytes.length] = 0x80;
  const view = new DataView(blocks.buffer);
  const bits = bytes.length * 8;
  view.setUint32(blocks.length - 8, Math.floor(bits / 0x1_0000_0000));
  view.setUint32(blocks.length - 4, bits % 0x1_0000_0000);
  return blocks;
}

/** 6.2.2, steps 2 to 4. */
function compress(digest: Uint32Array, w: Uint32Array): void {
  let [a, b, c, d, e, f, g, h] = digest as unknown as [number, number, number, number, number, number, number, number];
  for (let t = 0; t < 64; t++) {
    const t1 = (h + (rotr(e, 6) ^ rotr(e, 11) ^ rotr(e, 25)) + ((e & f) ^ (~e & g)) + at(K, t) + at(w, t)) | 0;
    const t2 = ((rotr(a, 2) ^ rotr(a, 13) ^ rotr(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    [a, b, c, d, e, f, g, h] = [(t1 + t2) | 0, a, b, c, (d + t1) | 0, e, f, g];
  }
  [a, b, c, d, e, f, g, h].forEach((word, index) => {
    digest[index] = at(digest, index) + word;
  });
}

function rotr(word: number, by: number): number {
  return (word >>> by) | (word << (32 - by));
}

function smallSigma0(word: number): number {
  return rotr(word, 7) ^ rotr(word, 18) ^ (word >>> 3);
}

function smallSigma1(word: number): number {
  return rotr(word, 17) ^ rotr(word, 19) ^ (word >>> 10);
}

function at(words: Uint32Array, index: number): number {
  return words[index] as number;
}
