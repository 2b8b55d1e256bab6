// How long packing and unpacking sample blocks takes, and how many bytes it leaves, on a made-up engine log.
import { deflateRawSync } from 'node:zlib';
import type { SampleBlock } from '../schemas/sample-block.ts';
import { SIGNAL_KEYS, type SignalKey } from '../schemas/signals.ts';
import { decodeBlock, encodeBlock } from '../storage/log/block-codec.ts';

const BLOCK_ROWS = 2048;
const COLUMNS = 18;
const BLOCKS = 60;

/** A random walk in steps of 10^-decimals, as loggers write them; `factor` is a unit conversion. */
function walk(p: { seed: number; decimals: number; factor: number; nullEvery: number }): (number | null)[] {
  let state = p.seed * 2654435761;
  const random = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  const power = 10 ** p.decimals;
  let value = 100 + random() * 100;
  return Array.from({ length: BLOCK_ROWS }, (_, i) => {
    value += (random() - 0.5) * 2;
    return p.nullEvery > 0 && i % p.nullEvery === 0 ? null : (Math.round(value * power) / power) * p.factor;
  });
}

function blocks(p: { decimals: number; factor: number; nullEvery: number }): SampleBlock[] {
  return Array.from({ length: BLOCKS }, (_, index) => ({
    version: 1,
    unit: 'truck-01',
    source: 'bench',
    t: Array.from({ length: BLOCK_ROWS }, (_, i) => 1_700_000_000_000 + (index * BLOCK_ROWS + i) * 1000),
    signals: Object.fromEntries(
      SIGNAL_KEYS.slice(0, COLUMNS).map((key, i) => [key, walk({ seed: index * 100 + i + 1, ...p })]),
    ) as Record<SignalKey, (number | null)[]>,
  }));
}

function nanosecondsPerValue(work: () => void): number {
  const from = process.hrtime.bigint();
  work();
  return Number(process.hrtime.bigint() - from) / (BLOCKS * BLOCK_ROWS * COLUMNS);
}

const cases = {
  'one decimal': { decimals: 1, factor: 1, nullEvery: 0 },
  'three decimals': { decimals: 3, factor: 1, nullEvery: 0 },
  'one decimal, every 7th missing': { decimals: 1, factor: 1, nullEvery: 7 },
  'one decimal, converted from psi': { decimals: 1, factor: 6.894757293168361, nullEvery: 0 },
  'full doubles': { decimals: 15, factor: 1.000001, nullEvery: 0 },
};

for (const [name, p] of Object.entries(cases)) {
  const input = blocks(p);
  let packed: Uint8Array[] = [];
  let best = { encode: Number.POSITIVE_INFINITY, decode: Number.POSITIVE_INFINITY, deflate: Number.POSITIVE_INFINITY };
  let deflated = 0;
  for (let round = 0; round < 7; round += 1) {
    const encode = nanosecondsPerValue(() => {
      packed = input.map(encodeBlock);
    });
    const decode = nanosecondsPerValue(() => packed.forEach(decodeBlock));
    const deflate = nanosecondsPerValue(() => {
      deflated = packed.reduce((sum, bytes) => sum + deflateRawSync(bytes, { level: 1 }).length, 0);
    });
    best = {
      encode: Math.min(best.encode, encode),
      decode: Math.min(best.decode, decode),
      deflate: Math.min(best.deflate, deflate),
    };
  }
  const values = BLOCKS * BLOCK_ROWS * COLUMNS;
  const bytes = packed.reduce((sum, block) => sum + block.length, 0) / values;
  process.stdout.write(
    `${name.padEnd(34)} encode ${best.encode.toFixed(1)} ns, decode ${best.decode.toFixed(1)} ns, ${bytes.toFixed(2)} bytes a value; ` +
      `deflate level 1 would add ${best.deflate.toFixed(1)} ns and leave ${(deflated / values).toFixed(2)} bytes\n`,
  );
}
