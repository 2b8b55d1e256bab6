import { expect } from 'vitest';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import type { SeriesBucket, SeriesOf } from '../../storage/history/port.ts';
import { ALWAYS, type Claim, type OpenHistory, START_MS, somePoints, UNIT } from './history-points.ts';

/** What a history promises of thinned series. */
export function declareSeries(claim: Claim, open: OpenHistory): void {
  /** The same by the plainest way: look at every point for every column. */
  function plainly(
    values: readonly { atMs: number; value: number; expected?: number | undefined; sd?: number | undefined }[],
    p: { fromMs: number; toMs: number; buckets: number },
  ): { count: number; min: number; max: number; mean: number; expected: number | undefined; sd: number | undefined }[] {
    const width = (p.toMs - p.fromMs) / p.buckets;
    const mean = (all: readonly (number | undefined)[]) => {
      const there = all.filter((one) => one !== undefined);
      return there.length === 0 ? undefined : there.reduce((sum, one) => sum + one, 0) / there.length;
    };
    return Array.from({ length: p.buckets }, (_, i) =>
      values.filter(({ atMs }) => atMs >= p.fromMs + i * width && atMs < p.fromMs + (i + 1) * width),
    )
      .filter((own) => own.length > 0)
      .map((own) => ({
        count: own.length,
        min: Math.min(...own.map(({ value }) => value)),
        max: Math.max(...own.map(({ value }) => value)),
        mean: mean(own.map(({ value }) => value)) ?? 0,
        expected: mean(own.map(({ expected }) => expected)),
        sd: mean(own.map(({ sd }) => sd)),
      }));
  }

  function expectSame(found: readonly SeriesBucket[], plain: ReturnType<typeof plainly>): void {
    expect(found).toHaveLength(plain.length);
    found.forEach((bucket, i) => {
      const own = plain[i];
      expect(own).toBeDefined();
      if (own === undefined) return;
      expect({ count: bucket.count, min: bucket.min, max: bucket.max }).toEqual({
        count: own.count,
        min: own.min,
        max: own.max,
      });
      expect(bucket.mean).toBeCloseTo(own.mean, 9);
      if (own.expected === undefined) expect(bucket).not.toHaveProperty('expected');
      else expect(bucket.expected).toBeCloseTo(own.expected, 9);
      if (own.sd === undefined) expect(bucket).not.toHaveProperty('sd');
      else expect(bucket.sd).toBeCloseTo(own.sd, 9);
    });
  }

  const kinds: readonly {
    of: SeriesOf;
    value: (one: HistoryPoint) => { value: number; expected?: number | undefined; sd?: number | undefined } | undefined;
  }[] = [
    {
      of: { kind: 'signal', name: 'seaWaterTemperature' },
      value: ({ point }) => {
        const summary = point.signals.seaWaterTemperature;
        return summary === undefined ? undefined : { value: summary.mean };
      },
    },
    {
      of: { kind: 'indicator', name: 'coolerEffectiveness' },
      value: ({ indicators }) => {
        const one = indicators.coolerEffectiveness;
        return one === undefined || 'absent' in one ? undefined : { value: one.value };
      },
    },
    {
      of: { kind: 'channel', name: 'boost' },
      value: ({ channels }) => {
        const one = channels.boost;
        return one === undefined ? undefined : { value: one.observed, expected: one.expected, sd: one.sd };
      },
    },
  ];

  for (const { of, value } of kinds) {
    claim(`a ${of.kind} series is what a plain computation gives`, async () => {
      const history = await open('a');
      const points = somePoints(700);
      await history.write(points);
      const values = points.flatMap((one) => {
        const own = value(one);
        return own === undefined ? [] : [{ atMs: one.point.toMs, ...own }];
      });
      for (const [fromIndex, toIndex, buckets] of [
        [0, 700, 1],
        [0, 700, 7],
        [13, 650, 100],
        [0, 699, 3000],
        [5, 6, 4],
      ] as const) {
        const p = { fromMs: START_MS + fromIndex * 600_000, toMs: START_MS + toIndex * 600_000, buckets };
        expectSame(await history.series({ unit: UNIT, of, ...p }), plainly(values, p));
      }
    });
  }

  claim('columns of a series lie side by side and hold their times', async () => {
    const history = await open('a');
    await history.write(somePoints(300));
    const p = { fromMs: START_MS + 1, toMs: START_MS + 299 * 600_000 + 12_345, buckets: 37 };
    const found = await history.series({ unit: UNIT, of: { kind: 'signal', name: 'engineSpeed' }, ...p });
    expect(found.length).toBeLessThanOrEqual(37);
    expect(found.reduce((sum, { count }) => sum + count, 0)).toBe(299);
    expect(found[0]?.fromMs).toBe(p.fromMs);
    expect(found.at(-1)?.toMs).toBe(p.toMs);
    for (let i = 1; i < found.length; i += 1) expect(found[i]?.fromMs).toBe(found[i - 1]?.toMs);
  });

  claim('a series of something unknown, or of no time, is empty', async () => {
    const history = await open('a');
    await history.write(somePoints(10));
    for (const name of ['oilPressure', 'constructor', 'nothing']) {
      expect(await history.series({ ...ALWAYS, of: { kind: 'signal', name }, buckets: 5 })).toEqual([]);
    }
    const none = { unit: UNIT, fromMs: START_MS, toMs: START_MS, buckets: 5 };
    expect(await history.series({ ...none, of: { kind: 'signal', name: 'engineSpeed' } })).toEqual([]);
  });
}
