import { expect, test } from 'vitest';
import { seededNormal } from '../../test/reference/seeded-normal.ts';
import { effectiveSampleSize, lagOneAutocorrelation, unbiasedLagOneAutocorrelation } from './autocorrelation.ts';
import {
  cusumRunLengthAutocorrelated,
  ewmaRunLengthAutocorrelated,
  shewhartRunLengthAutocorrelated,
} from './run-length-autocorrelated.ts';
import { cusumRunLength, cusumSteadyDelay, cusumSurvival } from './run-length-cusum.ts';
import { ewmaRunLength } from './run-length-ewma.ts';
import { cusumFalseAlarmProbability } from './run-length-false-alarm.ts';
import { runRulesRunLength } from './run-length-rules.ts';

test('without autocorrelation the chain of two dimensions agrees with the integral equation within 0.5 %', () => {
  for (const decisionInterval of [3, 5]) {
    for (const shift of [0, 0.5, 1.5]) {
      const design = { referenceValue: 0.5, decisionInterval, shift };
      expect(cusumRunLengthAutocorrelated({ ...design, autocorrelation: 0 }) / cusumRunLength(design)).toBeCloseTo(
        1,
        2,
      );
    }
  }
  const ewma = { weight: 0.2, limitSigmas: 2.9 };
  expect(ewmaRunLengthAutocorrelated({ ...ewma, autocorrelation: 0 }) / ewmaRunLength(ewma)).toBeCloseTo(1, 2);
});

// Three-sigma limits on independent values: 1 / 0.0026998 = 370.4 (any text on control charts).
test('a Shewhart chart has a run length of 370.4 on independent values', () => {
  expect(shewhartRunLengthAutocorrelated({ limitSigmas: 3, autocorrelation: 0 })).toBeCloseTo(370.398, 2);
  expect(runRulesRunLength([{ kind: 'beyond', points: 1, of: 1, sigmas: 3 }], 0)).toBeCloseTo(370.398, 2);
});

test('a rule that a chain of zones cannot follow is refused', () => {
  expect(() => runRulesRunLength([{ kind: 'monotone', points: 6 }], 0)).toThrow(/zones/);
});

test('after a long healthy run a shift is found sooner than from a fresh start', () => {
  const design = { referenceValue: 0.5, decisionInterval: 5, shift: 1 };
  expect(cusumSteadyDelay(design)).toBeLessThan(cusumRunLength(design));
});

test('survival falls from 1 at a rate of one in a run length', () => {
  const design = { referenceValue: 0.5, decisionInterval: 5 };
  expect(cusumSurvival(design, 0)).toBe(1);
  expect(cusumSurvival(design, 401) / cusumSurvival(design, 400)).toBeCloseTo(1 - 1 / cusumRunLength(design), 4);
});

test('a long baseline is as good as a known one, a short one is not', () => {
  const chart = { referenceValue: 0.5, decisionInterval: 5, samples: 100 };
  const known = cusumFalseAlarmProbability(chart);
  expect(cusumFalseAlarmProbability({ ...chart, baselineSize: 100_000 })).toBeCloseTo(known, 3);
  expect(cusumFalseAlarmProbability({ ...chart, baselineSize: 20 })).toBeGreaterThan(1.5 * known);
});

test('effectiveSampleSize is the count for independent values and small for slow ones', () => {
  expect(effectiveSampleSize(50, 0)).toBe(50);
  expect(effectiveSampleSize(50, 0.99)).toBeLessThan(2);
});

test('the unbiased autocorrelation is nearer to the truth on short series', () => {
  const normal = seededNormal(7);
  let [plain, unbiased] = [0, 0];
  for (let i = 0; i < 1000; i++) {
    let value = normal();
    const series = Array.from({ length: 30 }, () => {
      value = 0.5 * value + Math.sqrt(0.75) * normal();
      return value;
    });
    plain += (lagOneAutocorrelation(series) ?? 0) / 1000;
    unbiased += (unbiasedLagOneAutocorrelation(series) ?? 0) / 1000;
  }
  expect(plain).toBeLessThan(0.43);
  expect(unbiased).toBeCloseTo(0.5, 1);
  expect(lagOneAutocorrelation([3, 3, 3])).toBeUndefined();
});
