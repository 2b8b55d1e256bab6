import { afterEach, describe, expect } from 'vitest';
import type { HistoryPort } from '../../storage/history/port.ts';
import { collect, createClaims, portCodeOf, type Skip } from './contract.ts';
import { ALWAYS, type Claim, DAY_MS, type OpenHistory, somePoint, somePoints, UNIT } from './history-points.ts';
import { declareSeries } from './history-series-contract.ts';

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

  claim('points written one by one, some of them twice, come to the same, in a series as well', async () => {
    const history = await open('a');
    const points = somePoints(330);
    const all = { ...ALWAYS, of: { kind: 'channel', name: 'boost' }, buckets: 9000 } as const;
    for (const [i, one] of points.entries()) {
      if (i % 10 === 9) await history.write([{ ...one, channels: {} }]);
      await history.write([one]);
    }
    expect(await collect(history.points(ALWAYS))).toStrictEqual(points);
    expect(await history.latest({ unit: UNIT })).toStrictEqual(points.at(-1));
    const found = await history.series(all);
    expect(found.reduce((sum, { count }) => sum + count, 0)).toBe(points.length);
    await history.write([{ ...somePoint(329), channels: {} }]);
    expect((await history.series(all)).reduce((sum, { count }) => sum + count, 0)).toBe(points.length - 1);
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
