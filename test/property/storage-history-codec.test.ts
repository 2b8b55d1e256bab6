import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import { createByteReader, createByteWriter, finishBytes } from '../../storage/bytes.ts';
import { decodePoints, encodePoints } from '../../storage/history/point-columns.ts';
import { readRice, writeRice } from '../../storage/history/rice.ts';
import { PortError } from '../../storage/port-error.ts';

const finite = fc.double({ min: -1e9, max: 1e9, noNaN: true });
const spread = fc.double({ min: 0, max: 1e4, noNaN: true });
const summary = fc.record({ mean: finite, sd: spread, count: fc.nat() }, { noNullPrototype: true });
const indicator = fc.oneof(
  fc.record({ value: finite, standardUncertainty: spread, from: fc.array(fc.string()) }, { noNullPrototype: true }),
  fc.record({ absent: fc.string() }, { noNullPrototype: true }),
);
const reading = fc.record(
  {
    observed: finite,
    expected: finite,
    sd: spread,
    judgement: fc.constantFrom('learning' as const, 'outside' as const, 'judged' as const, 'excluded' as const),
    cusum: finite,
  },
  { requiredKeys: ['observed', 'judgement'], noNullPrototype: true },
);
const optional: { requiredKeys: []; noNullPrototype: true } = { requiredKeys: [], noNullPrototype: true };
const points: fc.Arbitrary<HistoryPoint[]> = fc
  .uniqueArray(fc.integer({ min: 0, max: 86_399_999 }), { maxLength: 40 })
  .chain((times) =>
    fc.tuple(
      ...times
        .toSorted((a, b) => a - b)
        .map((toMs) =>
          fc.record(
            {
              point: fc.record(
                {
                  version: fc.constant(1 as const),
                  unit: fc.constant('u'),
                  fromMs: fc.integer({ min: toMs - 1e6, max: toMs }),
                  toMs: fc.constant(toMs),
                  signals: fc.record({ engineSpeed: summary, engineHours: summary, boostPressure: summary }, optional),
                },
                { noNullPrototype: true },
              ),
              indicators: fc.record({ airMassFlow: indicator, coolerApproach: indicator }, optional),
              channels: fc.record({ boost: reading, oilPressure: reading }, optional),
            },
            { noNullPrototype: true },
          ),
        ),
    ),
  );

/** The point with every number but times and counts replaced by a word, to compare what must survive exactly. */
function shapeOf(one: HistoryPoint): unknown {
  return JSON.parse(
    JSON.stringify(one, (key, value: unknown) =>
      typeof value === 'number' && !['fromMs', 'toMs', 'count', 'version'].includes(key) ? 'number' : value,
    ),
  );
}

describe('history codec', () => {
  test('everything but the last digits survives, and packing again changes nothing', () => {
    fc.assert(
      fc.property(points, (original) => {
        const once = decodePoints('u', encodePoints(original));
        expect(once.map(shapeOf)).toEqual(original.map(shapeOf));
        expect(decodePoints('u', encodePoints(once))).toStrictEqual(once);
        once.forEach((one, i) => {
          const before = original[i]?.channels.boost?.observed;
          const after = one.channels.boost?.observed;
          // Four significant digits: half a step is at most 0.05 %, or half of 10^-9 near zero.
          if (before !== undefined) {
            expect(Math.abs((after ?? Number.NaN) - before)).toBeLessThanOrEqual(
              Math.abs(before) * 0.000501 + 0.501e-9,
            );
          }
        });
      }),
    );
  });

  test('a changed byte anywhere is refused as record_unreadable', () => {
    fc.assert(
      fc.property(points, fc.nat(), fc.integer({ min: 1, max: 255 }), (original, place, change) => {
        const bytes = encodePoints(original);
        const at = place % bytes.length;
        bytes[at] = (bytes[at] ?? 0) ^ change;
        let code: string | undefined;
        try {
          decodePoints('u', bytes);
        } catch (error) {
          if (!(error instanceof PortError)) throw error;
          code = error.code;
        }
        expect(code).toBe('record_unreadable');
      }),
    );
  });
});

describe('Rice codes', () => {
  const whole = fc.oneof(fc.integer({ min: -3, max: 3 }), fc.integer(), fc.integer({ min: -(2 ** 51), max: 2 ** 51 }));

  test('whole numbers of any size and mixture survive', () => {
    fc.assert(
      fc.property(fc.array(whole, { maxLength: 200 }), fc.boolean(), (numbers, small) => {
        const values = small ? numbers.map((number) => number % 50) : numbers;
        const writer = createByteWriter(1);
        writer.at = 0;
        writeRice(writer, values);
        const reader = createByteReader(finishBytes(writer), 'history');
        expect(readRice(reader, values.length)).toEqual(values.map((value) => (value === 0 ? 0 : value)));
        expect(reader.at).toBe(reader.end);
      }),
    );
  });
});
