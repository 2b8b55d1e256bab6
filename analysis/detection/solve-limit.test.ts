import { describe, expect, test } from 'vitest';
import { seededNormal } from '../../test/reference/seeded-normal.ts';
import { cusumSignal, cusumStep, initialCusum } from './cusum.ts';
import { ewmaSignal, ewmaStep, initialEwma } from './ewma.ts';
import { cusumRunLength, cusumRunLengthOneSided } from './run-length-cusum.ts';
import { averageRunLengthFromFalseAlarmRate, solveCusumLimit, solveEwmaLimit } from './solve-limit.ts';

/** Mean run length of a chart on a first-order autoregression of standard deviation 1, by simulation from one seed. */
function simulatedRunLength(p: {
  autocorrelation: number;
  replications: number;
  seed: number;
  chart: () => (value: number) => boolean;
}): number {
  const normal = seededNormal(p.seed);
  const fresh = Math.sqrt(1 - p.autocorrelation ** 2);
  let samples = 0;
  for (let i = 0; i < p.replications; i++) {
    const feed = p.chart();
    let value = normal();
    for (samples++; !feed(value); samples++) value = p.autocorrelation * value + fresh * normal();
  }
  return samples / p.replications;
}

describe('solveCusumLimit', () => {
  // Root of the exact run length; R package spc 0.6.7, xcusum.crit, gives 4.774897 for k = 0.5 and 370.4 (two-sided).
  test('gives the published interval', () => {
    expect(solveCusumLimit({ referenceValue: 0.5, averageRunLength: 370.4 })).toBeCloseTo(4.774897, 5);
  });

  test('gives back the run length it was asked for, also far out and one-sided', () => {
    for (const averageRunLength of [10, 500, 20_000, 1e6]) {
      for (const referenceValue of [0.1, 0.5, 1.5]) {
        const limit = solveCusumLimit({ referenceValue, averageRunLength });
        expect(cusumRunLength({ referenceValue, decisionInterval: limit }) / averageRunLength).toBeCloseTo(1, 5);
      }
    }
    const oneSided = solveCusumLimit({ referenceValue: 0.5, averageRunLength: 1000, twoSided: false });
    expect(cusumRunLengthOneSided({ referenceValue: 0.5, decisionInterval: oneSided })).toBeCloseTo(1000, 2);
  });

  // The outside check is the simulation itself: the mean of n run lengths has a standard error of about 1/sqrt(n).
  test.each([
    { autocorrelation: 0.3, averageRunLength: 400, seed: 1 },
    { autocorrelation: 0.7, averageRunLength: 400, seed: 2 },
    { autocorrelation: -0.3, averageRunLength: 300, seed: 3 },
  ])(
    'keeps the run length of $averageRunLength on values with an autocorrelation of $autocorrelation',
    ({ averageRunLength, ...rest }) => {
      const setting = {
        referenceValue: 0.5,
        decisionInterval: solveCusumLimit({ referenceValue: 0.5, averageRunLength, ...rest }),
      };
      const chart = () => {
        let state = initialCusum(setting);
        return (value: number) => {
          state = cusumStep(state, value, setting);
          return cusumSignal(state, setting) !== undefined;
        };
      };
      const replications = 4000;
      const share = simulatedRunLength({ ...rest, replications, chart }) / averageRunLength;
      expect(Math.abs(share - 1)).toBeLessThan(4 / Math.sqrt(replications));
    },
  );

  test('ignoring autocorrelation would cost most of the run length, so the limit is much wider', () => {
    const plain = solveCusumLimit({ referenceValue: 0.5, averageRunLength: 5000 });
    expect(solveCusumLimit({ referenceValue: 0.5, averageRunLength: 5000, autocorrelation: 0.5 })).toBeGreaterThan(
      2 * plain,
    );
  });
});

describe('solveEwmaLimit', () => {
  // Lucas & Saccucci (1990), Technometrics 32, Table 3: pairs of weight and limits for a run length of 500.
  test.each([
    [0.05, 2.615],
    [0.1, 2.814],
    [0.25, 2.998],
    [0.5, 3.071],
  ])('gives the published limits at a weight of %d', (weight, limit) => {
    expect(solveEwmaLimit({ weight, averageRunLength: 500 })).toBeCloseTo(limit, 2);
  });

  test('keeps the run length on autocorrelated values', () => {
    const setting = {
      weight: 0.2,
      centre: 0,
      sigma: 1,
      limitSigmas: solveEwmaLimit({ weight: 0.2, averageRunLength: 400, autocorrelation: 0.5 }),
    };
    const chart = () => {
      let state = initialEwma(setting);
      return (value: number) => {
        state = ewmaStep(state, value, setting);
        return ewmaSignal(state, setting) !== undefined;
      };
    };
    const replications = 4000;
    const share = simulatedRunLength({ autocorrelation: 0.5, replications, seed: 4, chart }) / 400;
    expect(Math.abs(share - 1)).toBeLessThan(4 / Math.sqrt(replications));
  });
});

// 100 units, 4 charts each, 50 points a week: 20000 points a week in all, of which one may be a false finding.
test('averageRunLengthFromFalseAlarmRate shares the rate among all charts of the fleet', () => {
  expect(
    averageRunLengthFromFalseAlarmRate({ findingsPer100UnitsAndWeek: 1, pointsPerWeek: 50, chartsPerUnit: 4 }),
  ).toBe(20_000);
  expect(() =>
    averageRunLengthFromFalseAlarmRate({ findingsPer100UnitsAndWeek: 0, pointsPerWeek: 50, chartsPerUnit: 4 }),
  ).toThrow(/above zero/);
});
