import { expect, test } from 'vitest';
import { NELSON_TESTS, runRuleHits, runRuleHolds } from './run-rules.ts';
import { individualsLimits, subgroupConstants, subgroupLimits } from './shewhart.ts';

test('asked point by point, a rule holds where it holds in the whole series', () => {
  const z = [1.2, -1.3, 1.4, 1.1, -1.6, -1.2, 1.5, -1.1, 1.3, 0.9, 2.2, 2.4, 3.3, 1.6, 1.2, 1.5, 1.1, 1.7, -1.4];
  for (const rule of Object.values(NELSON_TESTS)) {
    const online = z.flatMap((_, i) => (runRuleHolds(z.slice(Math.max(0, i - 15), i + 1), rule) ? [i] : []));
    expect(online).toEqual(runRuleHits(z, rule));
  }
});

test('no rule holds on nothing', () => {
  for (const rule of Object.values(NELSON_TESTS)) expect(runRuleHolds([], rule)).toBe(false);
});

// d2 = 1.128, 2.326, 3.078; d3 = 0.853, 0.864, 0.797; c4 = 0.7979, 0.9400, 0.9727 for n = 2, 5, 10: tables in any text, e.g. ISO 7870-2.
test('subgroupConstants agree with the printed tables, and for two values with their closed forms', () => {
  expect(subgroupConstants(5).d2).toBeCloseTo(2.326, 3);
  expect(subgroupConstants(10).d3).toBeCloseTo(0.797, 3);
  expect(subgroupConstants(5).c4).toBeCloseTo(0.94, 4);
  expect(subgroupConstants(2).d2).toBeCloseTo(2 / Math.sqrt(Math.PI), 12);
  expect(subgroupConstants(2).d3).toBeCloseTo(Math.sqrt(2 - 4 / Math.PI), 12);
});

test('limits are undefined without enough values, and subgroups of different size are refused', () => {
  expect(individualsLimits([3])).toBeUndefined();
  expect(subgroupLimits([])).toBeUndefined();
  expect(() =>
    subgroupLimits([
      [1, 2],
      [1, 2, 3],
    ]),
  ).toThrow(/one size/);
});
