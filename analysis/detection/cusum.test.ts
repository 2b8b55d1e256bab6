import { describe, expect, test } from 'vitest';
import { type CusumState, cusumSeries, cusumSignal, cusumStep, initialCusum, restartCusum } from './cusum.ts';
import { ewmaLimits, ewmaSeries, ewmaSignal, ewmaStep, initialEwma } from './ewma.ts';

const setting = { referenceValue: 0.5, decisionInterval: 4 };
const deviations = [0.2, -1.4, 1.1, 0.9, 2.2, 1.9, 2.4, -0.3, 0.1];

describe('cusumStep', () => {
  test('one by one, through JSON each time, gives what the series gives at once', () => {
    let state: CusumState = initialCusum(setting);
    const steps = deviations.map((deviation) => {
      state = JSON.parse(JSON.stringify(cusumStep(state, deviation, setting))) as CusumState;
      return state;
    });
    expect(steps).toEqual(cusumSeries(deviations, setting));
  });

  // NIST/SEMATECH e-Handbook 6.3.2.3 and Montgomery, chapter 9: onset after the last zero, shift = k + sum / count.
  test('estimates onset and shift from the sum and how long it has been above zero', () => {
    const signal = cusumSeries(deviations, setting)
      .map((state) => cusumSignal(state, setting))
      .find((s) => s !== undefined);
    expect(signal).toMatchObject({ side: 'upper', onset: 3, runLength: 4 });
    expect(signal?.shift).toBeCloseTo((1.1 + 0.9 + 2.2 + 1.9) / 4, 12);
  });

  test('reports the onset as a time when it is given times', () => {
    let state = initialCusum(setting);
    for (const [i, deviation] of deviations.slice(0, 7).entries())
      state = cusumStep(state, -deviation, setting, 1_000 + 60 * i);
    expect(cusumSignal(state, setting)).toMatchObject({ side: 'lower', onset: 1_120 });
  });

  test('a head start is not mistaken for a shift', () => {
    const withStart = { ...setting, headStart: 2 };
    const state = cusumSeries([1.5, 1.5, 1.5], withStart).at(-1);
    expect(state && cusumSignal(state, withStart)?.shift).toBeCloseTo(1.5, 12);
  });

  test('a restart begins only the sum that signalled anew', () => {
    const state = { upper: { sum: 5, runLength: 3, since: 4 }, lower: { sum: 1, runLength: 1, since: 6 }, count: 6 };
    expect(restartCusum(state, setting)).toEqual({ ...state, upper: { sum: 0, runLength: 0, since: null } });
  });
});

describe('ewmaStep', () => {
  const ewma = { weight: 0.2, limitSigmas: 2.7, centre: 10, sigma: 2 };

  test('one by one gives what the series gives at once', () => {
    let state = initialEwma(ewma);
    const steps = deviations.map((value) => {
      state = ewmaStep(state, value, ewma);
      return state;
    });
    expect(steps).toEqual(ewmaSeries(deviations, ewma));
  });

  test('exact limits open towards the asymptotic ones', () => {
    const exact = { ...ewma, limits: 'exact' as const };
    expect(ewmaLimits(exact, 1).upper).toBeCloseTo(10 + 2.7 * 2 * 0.2, 12);
    expect(ewmaLimits(exact, 200).upper).toBeCloseTo(ewmaLimits(ewma, 200).upper, 12);
  });

  test('does not signal before the first value', () => {
    expect(ewmaSignal(initialEwma(ewma), ewma)).toBeUndefined();
    expect(ewmaSignal({ average: 4, count: 3 }, ewma)).toBe('lower');
  });
});
