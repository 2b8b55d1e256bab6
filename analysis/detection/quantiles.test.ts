import * as simple from 'simple-statistics';
import { expect, test } from 'vitest';
import { hampelFilter } from './hampel.ts';
import { median, quantile } from './quantiles.ts';
import {
  huberLocation,
  mean,
  medianAbsoluteDeviation,
  midRanks,
  robustSigma,
  standardDeviation,
} from './robust-scale.ts';

const values = [3.1, -2, 7.5, 0.4, 9, 9, 4.2];

test('median and median absolute deviation agree with a second library', () => {
  expect(median(values)).toBe(simple.median(values));
  expect(medianAbsoluteDeviation(values)).toBe(simple.medianAbsoluteDeviation(values));
  expect(standardDeviation(values)).toBeCloseTo(simple.sampleStandardDeviation(values), 12);
});

test('nothing in, undefined out', () => {
  expect([median([]), quantile([], 0.5), mean([]), robustSigma([]), huberLocation([]), standardDeviation([1])]).toEqual(
    Array.from({ length: 6 }, () => undefined),
  );
});

test('every type of quantile runs from the least to the greatest value', () => {
  for (const type of [1, 2, 3, 4, 5, 6, 7, 8, 9] as const) {
    expect(quantile(values, 0, type)).toBe(-2);
    expect(quantile(values, 1, type)).toBe(9);
  }
});

test('a quantile outside 0 to 1 is a bug', () => {
  expect(() => quantile(values, 1.1)).toThrow(/0 to 1/);
});

test('equal values share the mean of their ranks', () => {
  expect(midRanks([5, 5, 1, 9, 5])).toEqual([3, 3, 1, 5, 3]);
});

test('huberLocation moves little under one wild value, and is the median where the scale is 0', () => {
  expect(Math.abs((huberLocation([...values, 1e6]) ?? 0) - (huberLocation(values) ?? 0))).toBeLessThan(2);
  expect(huberLocation([4, 4, 4, 9])).toBe(4);
});

test('a floor under sigma keeps a rounding step in a flat stretch', () => {
  const flat = [2, 2, 2, 2.001, 2, 2, 2];
  const replaced = (sigmaFloor: number) =>
    hampelFilter(flat, { halfWidth: 2, sigmas: 3, ends: 'shorten', sigmaFloor }).filter((v) => v.replaced).length;
  expect(replaced(0)).toBe(1);
  expect(replaced(0.001)).toBe(0);
});
