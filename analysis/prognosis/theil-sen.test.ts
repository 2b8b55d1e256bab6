import { describe, expect, test } from 'vitest';
import { seededNormal } from '../../test/reference/seeded-normal.ts';
import {
  mannKendall,
  mannKendallHamedRao,
  mannKendallPreWhitened,
  mannKendallSeasonal,
  mannKendallTrendFree,
  mannKendallYueWang,
} from './mann-kendall.ts';
import { senSlope, senSlopeInterval, theilSen, theilSenSeasonal } from './theil-sen.ts';

describe('theilSen', () => {
  // Breakdown point of the Theil–Sen slope: 1 - 1/sqrt(2) = 29 % (Rousseeuw & Leroy 1987, section 2.7).
  test('is not bent by a quarter of wild values', () => {
    const values = Array.from({ length: 40 }, (_, i) => (i % 4 === 1 ? -500 : 5 + 0.25 * i));
    expect(theilSen({ values })?.slope).toBeCloseTo(0.25, 12);
  });

  test('keeps the true times of what remains when values are missing', () => {
    expect(senSlope([0, null, null, 6, 8])).toBe(2);
  });

  test('is undefined when all values share one time', () => {
    expect(theilSen({ values: [1, 2, 3], times: [5, 5, 5] })).toBeUndefined();
    expect(senSlopeInterval({ values: [] }, { confidence: 0.9 })).toBeUndefined();
  });

  test('the interval widens with confidence and with autocorrelation', () => {
    const normal = seededNormal(5);
    const values = Array.from({ length: 30 }, (_, i) => 0.1 * i + normal());
    const width = (p: { confidence: number; varianceFactor?: number }) => {
      const [low, high] = senSlopeInterval({ values }, p) ?? [0, 0];
      return high - low;
    };
    expect(width({ confidence: 0.99 })).toBeGreaterThan(width({ confidence: 0.8 }));
    expect(width({ confidence: 0.8, varianceFactor: 4 })).toBeGreaterThan(width({ confidence: 0.8 }));
  });
});

describe('mannKendall', () => {
  test('needs two values, and leaves missing ones out', () => {
    expect(mannKendall([1])).toBeUndefined();
    expect(mannKendall([null, 1, undefined, 2])?.statistic).toBe(1);
    expect(mannKendallHamedRao([1, 2])).toBeUndefined();
  });

  test('a seasonal swing is no trend to the seasonal test', () => {
    const values = Array.from({ length: 36 }, (_, i) => Math.sin((2 * Math.PI * (i % 12)) / 12));
    expect(mannKendallSeasonal(values, 12)?.probability).toBeGreaterThan(0.99);
    expect(
      theilSenSeasonal(
        values.map((y, i) => y + i / 12),
        12,
      )?.slope,
    ).toBeCloseTo(1, 10);
  });

  // The level of a test is how often it calls a trend where there is none: 5 % is asked for.
  test('autocorrelation makes the plain test cry wolf; the corrected ones do so less, but trend-free pre-whitening does not', () => {
    const normal = seededNormal(11);
    const tests = {
      plain: mannKendall,
      hamedRao: mannKendallHamedRao,
      yueWang: mannKendallYueWang,
      preWhitened: mannKendallPreWhitened,
      trendFree: mannKendallTrendFree,
    };
    const share = Object.fromEntries(Object.keys(tests).map((key) => [key, 0]));
    const replications = 300;
    for (let i = 0; i < replications; i++) {
      let value = normal();
      const series = Array.from({ length: 50 }, () => {
        value = 0.5 * value + Math.sqrt(0.75) * normal();
        return value;
      });
      for (const [key, run] of Object.entries(tests)) {
        if ((run(series)?.probability ?? 1) < 0.05) share[key] = (share[key] ?? 0) + 1 / replications;
      }
    }
    expect(share['plain']).toBeGreaterThan(0.2);
    expect(share['preWhitened']).toBeLessThan(0.12);
    expect(share['trendFree']).toBeGreaterThan(0.2);
    for (const key of ['hamedRao', 'yueWang']) expect(share[key]).toBeLessThan(share['plain'] ?? 0);
  });
});
