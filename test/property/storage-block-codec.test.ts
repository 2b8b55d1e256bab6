import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import { SIGNAL_KEYS } from '../../schemas/signals.ts';
import { createByteWriter, finishBytes, writeByte } from '../../storage/bytes.ts';
import { decodeBlock, encodeBlock } from '../../storage/log/block-codec.ts';
import { PortError } from '../../storage/port-error.ts';

// Numbers as loggers write them, as unit conversions leave them, and as nobody should.
const decimal = fc
  .tuple(fc.integer({ min: -2_000_000, max: 2_000_000 }), fc.constantFrom(1, 10, 100, 1000, 1e6))
  .map(([n, p]) => n / p);
const converted = fc.integer({ min: 0, max: 60 }).map((psi) => psi * 6.894757293168361);
const odd = fc.constantFrom(
  -0,
  0,
  2 ** 30,
  -(2 ** 30),
  2 ** 31,
  2 ** 53,
  1e300,
  5e-324,
  Number.NaN,
  Number.POSITIVE_INFINITY,
);
const value = fc.oneof(
  { weight: 6, arbitrary: decimal },
  { weight: 1, arbitrary: fc.double() },
  { weight: 1, arbitrary: odd },
);

function column(length: number): fc.Arbitrary<(number | null)[]> {
  const of = (arbitrary: fc.Arbitrary<number | null>) => fc.array(arbitrary, { minLength: length, maxLength: length });
  return fc.oneof(
    of(decimal),
    of(converted),
    of(fc.option(decimal)),
    of(fc.option(value)),
    of(fc.constant(null)),
    of(fc.double()),
  );
}

const times = fc.oneof(
  fc.uniqueArray(fc.integer({ min: -1e6, max: 1e6 }), { maxLength: 300 }),
  fc.uniqueArray(fc.maxSafeInteger(), { maxLength: 40 }),
  fc
    .tuple(fc.integer(), fc.integer({ max: 400, min: 0 }))
    .map(([from, n]) => Array.from({ length: n }, (_, i) => from + i * 1000)),
);

const troubleCode = fc
  .tuple(fc.nat(), fc.nat(31), fc.nat(126), fc.nat(253))
  .map(([spn, fmi, count, sourceAddress]) => ({ spn, fmi, count, sourceAddress }));

const block: fc.Arbitrary<SampleBlock> = times.chain((unsorted) =>
  fc.record(
    {
      version: fc.constant(1 as const),
      unit: fc.string({ unit: 'grapheme', minLength: 1 }),
      source: fc.string({ unit: 'grapheme', minLength: 1 }),
      t: fc.constant(unsorted.toSorted((a, b) => a - b)),
      signals: fc.dictionary(fc.constantFrom(...SIGNAL_KEYS), column(unsorted.length), {
        maxKeys: 6,
        noNullPrototype: true,
      }),
      troubleCodes: fc.array(troubleCode, { maxLength: 3 }),
    },
    { requiredKeys: ['version', 'unit', 'source', 't', 'signals'], noNullPrototype: true },
  ),
);

/** True when decoding refuses with the code; false when it gives a block; any other failure is thrown on. */
function refuses(bytes: Uint8Array, code: string): boolean {
  try {
    decodeBlock(bytes);
    return false;
  } catch (error) {
    if (error instanceof PortError && error.code === code) return true;
    throw error;
  }
}

describe('block codec', () => {
  test('decode(encode(x)) is x, bit for bit', () => {
    fc.assert(
      fc.property(block, (original) => {
        // toStrictEqual compares numbers with Object.is, so -0 and NaN count.
        expect(decodeBlock(encodeBlock(original))).toStrictEqual(original);
      }),
    );
  });

  test('long columns of every kind survive', () => {
    const n = 5000;
    const t = Array.from({ length: n }, (_, i) => 1_700_000_000_000 + i * 1000 + (i % 7));
    const original: SampleBlock = {
      version: 1,
      unit: 'ship-1',
      source: 'csv',
      t,
      signals: {
        engineSpeed: t.map((_, i) => 600 + (i % 900) * 0.125),
        boostPressure: t.map((_, i) => (i % 311) * 0.1 * 6.894757293168361),
        oilPressure: t.map((_, i) => Math.sqrt(i)),
        coolantTemperature: t.map((_, i) => (i % 3 === 0 ? null : 80.5)),
        engineHours: t.map((_, i) => 123_456.789 + i / 1000),
      },
    };
    expect(decodeBlock(encodeBlock(original))).toStrictEqual(original);
  });

  test('a changed byte anywhere is refused as record_unreadable', () => {
    fc.assert(
      fc.property(block, fc.nat(), fc.integer({ min: 1, max: 255 }), (original, place, change) => {
        const bytes = encodeBlock(original);
        const at = place % bytes.length;
        bytes[at] = (bytes[at] ?? 0) ^ change;
        expect(refuses(bytes, 'record_unreadable')).toBe(true);
      }),
    );
  });

  test('a record cut short anywhere is refused as record_unreadable', () => {
    fc.assert(
      fc.property(block, fc.nat(), (original, place) => {
        const bytes = encodeBlock(original);
        expect(refuses(bytes.subarray(0, place % bytes.length), 'record_unreadable')).toBe(true);
      }),
    );
  });

  test('damage that keeps its checksum right never crashes or hangs', () => {
    fc.assert(
      fc.property(block, fc.nat(), fc.uint8Array({ minLength: 1, maxLength: 12 }), (original, place, noise) => {
        const bytes = encodeBlock(original);
        const writer = createByteWriter(bytes.length + noise.length);
        writer.bytes.set(bytes.subarray(0, bytes.length - 4));
        writer.bytes.set(noise, 1 + (place % (bytes.length - 4)));
        writer.at = bytes.length - 4;
        refuses(finishBytes(writer), 'record_unreadable');
      }),
    );
  });

  test('an unknown format version is refused as version_newer', () => {
    const writer = createByteWriter(8);
    writeByte(writer, 2);
    expect(refuses(finishBytes(writer), 'version_newer')).toBe(true);
  });
});
