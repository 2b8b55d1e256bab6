/** A seeded source of chance: the same seed gives the same demo, byte for byte. */
export type RandomSource = {
  /** Uniform in [0, 1). */
  readonly uniform: () => number;
  /** Uniform between two bounds. */
  readonly between: (low: number, high: number) => number;
  /** Standard normal, drawn from a table of 8192 quantiles that stays in the processor's cache; tails end near 3.8. */
  readonly normal: () => number;
};

const NORMAL_COUNT = 8192;
const normalQuantiles = buildNormalQuantiles();

/**
 * Creates a source of chance (the 32-bit "mulberry" mixing of a Weyl sequence).
 *
 * @param seed - Any number; only its lower 32 bits count.
 */
export function createRandom(seed: number): RandomSource {
  let state = seed >>> 0;
  const next = (): number => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return (mixed ^ (mixed >>> 14)) >>> 0;
  };
  return {
    uniform: () => next() / 4_294_967_296,
    between: (low, high) => low + ((high - low) * next()) / 4_294_967_296,
    normal: () => normalQuantiles[next() >>> 19] as number,
  };
}

/** A seed made of a text and numbers, so that each unit and day has chance of its own, whatever else is simulated. */
export function seedOf(text: string, ...numbers: readonly number[]): number {
  let hash = 0x811c9dc5;
  const mix = (value: number) => {
    hash = Math.imul(hash ^ value, 0x01000193);
  };
  for (let i = 0; i < text.length; i += 1) mix(text.charCodeAt(i));
  for (const number of numbers) for (let shift = 0; shift < 32; shift += 8) mix((number >>> shift) & 0xff);
  return hash >>> 0;
}

/** Quantiles of the standard normal by inverting its distribution function on a fine grid (trapezoid rule). */
function buildNormalQuantiles(): Float32Array {
  const table = new Float32Array(NORMAL_COUNT);
  const step = 0.0005;
  let x = -6;
  let cumulative = 0;
  let density = Math.exp(-18) / Math.sqrt(2 * Math.PI);
  for (let i = 0; i < NORMAL_COUNT; i += 1) {
    const wanted = (i + 0.5) / NORMAL_COUNT;
    while (cumulative < wanted && x < 6) {
      x += step;
      const nextDensity = Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);
      cumulative += ((density + nextDensity) / 2) * step;
      density = nextDensity;
    }
    table[i] = x;
  }
  return table;
}
