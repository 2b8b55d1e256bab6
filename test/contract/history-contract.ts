import { afterEach, describe, expect } from 'vitest';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import type { HistoryPort, SeriesBucket, SeriesOf } from '../../storage/history/port.ts';
import { collect, createClaims, portCodeOf, type Skip } from './contract.ts';

/** Opens a history; the same `name` opens the same history again. */
export type OpenHistory = (name: string) => Promise<HistoryPort>;

const DAY_MS = 86_400_000;
const START_MS = 1_700_000_000_000;
const UNIT = 'ship-1-port';

/** Declares what every history promises; see the port for the sentences that these tests stand for. */
export function describeHistory(name: string, createOpen: () => OpenHistory, p: { skip?: readonly Skip[] } = {}): void {
  describe(`history contract: ${name}`, () => {
    const { claim, close } = createClaims(p.skip ?? []);
    const connect = createOpen();
    const opened: HistoryPort[] = [];
    let tests = 0;
    afterEach(async () => {
      tests += 1;
      for (const history of opened.splice(0)) await history.close();
    });
    const open: OpenHistory = async (file) => {
      const history = await connect(`${tests}-${file}`);
      opened.push(history);
      return history;
    };
    declarePoints(claim, open);
    declareSeries(claim, open);
    close();
  });
}

type Claim = ReturnType<typeof createClaims>['claim'];

/**
 * The `index`-th of a run of points, ten minutes apart. Its numbers have at most two significant digits where an
 * adapter may round to two, and four elsewhere, so that they must come back to the last bit.
 */
function somePoint(index: number, unit = UNIT): HistoryPoint {
  const toMs = START_MS + index * 600_000;
  const sure = index % 3 !== 0;
  return {
    point: {
      version: 1,
      unit,
      fromMs: toMs - 299_500,
      toMs,
      signals: {
        engineSpeed: { mean: 1200 + (index % 40), sd: 8.5, count: 300 },
        boostPressure: { mean: 101.5 + (index % 17) / 2, sd: 0, count: 299 },
        ...(index % 4 === 0 ? {} : { seaWaterTemperature: { mean: -1.25, sd: 0.12, count: 12 } }),
        engineHours: { mean: 123_456.75 + index / 4, sd: 0.02, count: 300 },
      },
    },
    indicators: {
      coolerEffectiveness: sure
        ? { value: 0.8125, standardUncertainty: 0.011, from: ['intakeManifoldTemperature', 'a "guess" ≈ 船'] }
        : { absent: 'no sensor — ["a"]' },
      airMassFlow: { value: 0.0625, standardUncertainty: 1e-4, from: [] },
    },
    channels: {
      boost: {
        observed: 101.5 + (index % 17) / 2,
        judgement: sure ? 'judged' : 'learning',
        ...(sure ? { expected: 110 + (index % 5) / 2, sd: 2.25, cusum: 0.5 - (index % 7) / 2 } : {}),
      },
      coolerEffectiveness: { observed: 0.8125, judgement: 'excluded' },
    },
  };
}

function somePoints(count: number, unit = UNIT): HistoryPoint[] {
  return Array.from({ length: count }, (_, index) => somePoint(index, unit));
}

const ALWAYS = { unit: UNIT, fromMs: START_MS - DAY_MS, toMs: START_MS + 1000 * DAY_MS };

function declarePoints(claim: Claim, open: OpenHistory): void {
  claim('an empty history has no points, series, latest or extent', async () => {
    const history = await open('a');
    await history.write([]);
    expect(await collect(history.points(ALWAYS))).toEqual([]);
    expect(await history.series({ ...ALWAYS, of: { kind: 'signal', name: 'engineSpeed' }, buckets: 10 })).toEqual([]);
    expect(await history.latest({ unit: UNIT })).toBeUndefined();
    expect(await history.extent({ unit: UNIT })).toBeUndefined();
  });

  claim('points come back as they were written, oldest first', async () => {
    const history = await open('a');
    const points = somePoints(400);
    await history.write(points);
    expect(await collect(history.points(ALWAYS))).toStrictEqual(points);
  });

  claim('points in any order and any batches come to the same', async () => {
    const history = await open('a');
    const points = somePoints(200);
    const shuffled = points.toSorted((a, b) => ((a.point.toMs * 7919) % 1009) - ((b.point.toMs * 7919) % 1009));
    for (let from = 0; from < shuffled.length; from += 37) await history.write(shuffled.slice(from, from + 37));
    expect(await collect(history.points(ALWAYS))).toStrictEqual(points);
  });

  claim('writing again changes nothing', async () => {
    const history = await open('a');
    const noisy = somePoints(60).map((one, i) => {
      const boost = {
        observed: Math.sqrt(i + 2),
        expected: Math.PI * i,
        sd: Math.E / (i + 1),
        judgement: 'judged',
      } as const;
      return { ...one, channels: { boost } };
    });
    await history.write(noisy);
    const once = await collect(history.points(ALWAYS));
    await history.write(noisy.slice(10, 30));
    await history.write(once.slice(0, 20));
    expect(await collect(history.points(ALWAYS))).toStrictEqual(once);
    expect(once).toHaveLength(60);
    once.forEach((one, i) => {
      // At least three and a half significant digits are kept: 0.05 %.
      const observed = one.channels.boost?.observed ?? 0;
      expect(Math.abs(observed - Math.sqrt(i + 2))).toBeLessThanOrEqual(0.0005 * Math.sqrt(i + 2));
    });
  });

  claim('a point written again with the same end time replaces the old one', async () => {
    const history = await open('a');
    await history.write(somePoints(5));
    const changed = { ...somePoint(2), indicators: {}, channels: {} };
    await history.write([changed]);
    const found = await collect(history.points(ALWAYS));
    expect(found).toHaveLength(5);
    expect(found[2]).toStrictEqual(changed);
  });

  claim('of two points with the same end time in one write the later stays', async () => {
    const history = await open('a');
    const later = { ...somePoint(0), channels: {} };
    await history.write([somePoint(0), later]);
    expect(await collect(history.points(ALWAYS))).toStrictEqual([later]);
  });

  claim('a range takes its beginning and leaves its end', async () => {
    const history = await open('a');
    const points = somePoints(300);
    await history.write(points);
    const fromMs = points[20]?.point.toMs ?? 0;
    const toMs = points[250]?.point.toMs ?? 0;
    expect(await collect(history.points({ unit: UNIT, fromMs, toMs }))).toStrictEqual(points.slice(20, 250));
    expect(await collect(history.points({ unit: UNIT, fromMs, toMs: fromMs }))).toEqual([]);
  });

  claim('units are kept apart', async () => {
    const history = await open('a');
    await history.write([...somePoints(3), ...somePoints(9, 'łódź-2')]);
    expect(await collect(history.points({ ...ALWAYS, unit: 'łódź-2' }))).toStrictEqual(somePoints(9, 'łódź-2'));
    expect(await collect(history.points(ALWAYS))).toHaveLength(3);
  });

  claim('latest and extent follow the times, not the order of writing', async () => {
    const history = await open('a');
    const points = somePoints(500);
    await history.write(points.slice(300));
    await history.write(points.slice(0, 10));
    expect(await history.latest({ unit: UNIT })).toStrictEqual(points[499]);
    expect(await history.extent({ unit: UNIT })).toEqual({
      fromMs: points[0]?.point.toMs,
      toMs: points[499]?.point.toMs,
    });
  });

  claim('everything written is there after closing and opening again', async () => {
    const before = await open('a');
    await before.write(somePoints(50));
    await before.close();
    const after = await open('a');
    expect(await collect(after.points(ALWAYS))).toStrictEqual(somePoints(50));
    expect(await portCodeOf(() => before.write(somePoints(1)))).toBe('closed');
  });

  claim('points before 1970 and on the edge of a day have their place', async () => {
    const history = await open('a');
    const points = [-DAY_MS - 1, -1, 0, DAY_MS - 1, DAY_MS].map((toMs) => {
      const { point, ...rest } = somePoint(1);
      return { point: { ...point, fromMs: toMs - 1, toMs }, ...rest };
    });
    await history.write(points);
    expect(await collect(history.points({ unit: UNIT, fromMs: -2 * DAY_MS, toMs: 2 * DAY_MS }))).toStrictEqual(points);
    expect(await collect(history.points({ unit: UNIT, fromMs: -1, toMs: DAY_MS }))).toStrictEqual(points.slice(1, 4));
  });
}

function declareSeries(claim: Claim, open: OpenHistory): void {
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
