import { expect, test } from 'vitest';
import { seededNormal } from '../../test/reference/seeded-normal.ts';
import { deviationSums, pettitt, standardNormalHomogeneity } from './change-point.ts';
import { bestChanges, binaryChanges, largestChangeF, penalisedChanges, segmentedSumOfSquares } from './segments.ts';

const step = [1, 1.1, 0.9, 1, 1.05, 3, 3.1, 2.95, 3.05, 3];

test('every method finds one clear step', () => {
  expect(pettitt(step)?.before).toBe(5);
  expect(deviationSums(step)?.before).toBe(5);
  expect(standardNormalHomogeneity(step)?.before).toBe(5);
  expect(largestChangeF(step)?.before).toBe(5);
  expect(bestChanges(step, 1)).toEqual([5]);
  expect(binaryChanges(step, 1)).toEqual([5]);
  expect(penalisedChanges(step, 1)).toEqual([5]);
});

test('nothing is claimed where nothing can be', () => {
  expect(pettitt([1])).toBeUndefined();
  expect(deviationSums([2, 2, 2, 2])).toBeUndefined();
  expect(standardNormalHomogeneity([2, 2, 2, 2])).toBeUndefined();
  expect(bestChanges([1, 2, 3], 1)).toBeUndefined();
  expect(penalisedChanges([1, 1, 1, 1, 1], 1)).toEqual([]);
  expect(binaryChanges([1, 2, 3], 2)).toEqual([]);
});

/** Every way to cut a series, priced: slow and certain. */
function cheapestByTrying(values: readonly number[], penalty: number): number {
  let cheapest = Number.POSITIVE_INFINITY;
  for (let mask = 0; mask < 2 ** (values.length - 1); mask++) {
    const changes = values.slice(1).flatMap((_, i) => ((mask >> i) & 1 ? [i + 1] : []));
    const ends = [0, ...changes, values.length];
    if (ends.some((end, i) => i > 0 && end - (ends[i - 1] ?? 0) < 2)) continue;
    cheapest = Math.min(cheapest, segmentedSumOfSquares(values, changes) + penalty * changes.length);
  }
  return cheapest;
}

test('penalisedChanges is as cheap as the cheapest of all ways to cut', () => {
  const normal = seededNormal(3);
  for (let i = 0; i < 20; i++) {
    const values = Array.from({ length: 12 }, (_, j) => normal() + (j > 3 + (i % 5) ? 2 : 0));
    for (const penalty of [0.5, 3]) {
      const changes = penalisedChanges(values, penalty);
      expect(segmentedSumOfSquares(values, changes) + penalty * changes.length).toBeCloseTo(
        cheapestByTrying(values, penalty),
        9,
      );
    }
  }
});
