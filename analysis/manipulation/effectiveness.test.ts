import { describe, expect, test } from 'vitest';
import { type Arrangement, crossflowOneMixed } from './arrangement.ts';
import { crossflowBothUnmixedApproximation, crossflowBothUnmixedEffectiveness } from './crossflow.ts';
import { effectiveness, effectivenessCeiling } from './effectiveness.ts';
import { transferUnits } from './transfer-units.ts';

const ARRANGEMENTS: readonly Arrangement[] = [
  { kind: 'counterflow' },
  { kind: 'parallelFlow' },
  { kind: 'crossflowBothUnmixed' },
  { kind: 'crossflowBothUnmixedApproximate' },
  { kind: 'crossflowCminMixed' },
  { kind: 'crossflowCmaxMixed' },
  { kind: 'shells', shellCount: 1 },
  { kind: 'shells', shellCount: 2 },
  { kind: 'shells', shellCount: 5 },
];

// Bounds and limits as in Shah and Sekulic, Fundamentals of Heat Exchanger Design (2003), section 3.3 and table 3.6.
describe.each(ARRANGEMENTS)('$kind $shellCount', (arrangement) => {
  test('no surface moves no heat, and no arrangement beats counterflow', () => {
    for (const capacityRatio of [0, 0.001, 0.5, 0.999999, 1]) {
      expect(effectiveness({ arrangement, ntu: 0, capacityRatio })).toBe(0);
      for (const ntu of [0.1, 1, 3]) {
        const best = effectiveness({ arrangement: { kind: 'counterflow' }, ntu, capacityRatio }) ?? 0;
        expect(effectiveness({ arrangement, ntu, capacityRatio })).toBeLessThanOrEqual(best + 1e-12);
      }
    }
  });

  test('approaches 1 - exp(-NTU) when one stream keeps its temperature', () => {
    expect(effectiveness({ arrangement, ntu: 1.5, capacityRatio: 1e-9 })).toBeCloseTo(-Math.expm1(-1.5), 7);
    expect(effectiveness({ arrangement, ntu: 1.5, capacityRatio: 0 })).toBeCloseTo(-Math.expm1(-1.5), 12);
  });

  test('has no step at equal capacity rates', () => {
    const near = effectiveness({ arrangement, ntu: 2, capacityRatio: 1 - 1e-12 }) ?? 0;
    expect(effectiveness({ arrangement, ntu: 2, capacityRatio: 1 })).toBeCloseTo(near, 10);
  });

  test('transferUnits undoes effectiveness', () => {
    for (const capacityRatio of [0, 0.2, 0.7, 1 - 1e-9, 1]) {
      for (const ntu of [0, 1e-4, 0.3, 1, 2.5]) {
        const reached = effectiveness({ arrangement, ntu, capacityRatio }) ?? Number.NaN;
        expect(
          Math.abs((transferUnits({ arrangement, effectiveness: reached, capacityRatio }) ?? Number.NaN) - ntu),
        ).toBeLessThan(1e-9);
      }
    }
  });

  test('stays below its ceiling, comes near it, and has no transfer units at or above it', () => {
    for (const capacityRatio of [0.3, 0.8, 1]) {
      const ceiling = effectivenessCeiling({ arrangement, capacityRatio }) ?? 0;
      const large = effectiveness({ arrangement, ntu: 200, capacityRatio }) ?? 0;
      expect(large).toBeLessThanOrEqual(ceiling + 1e-12);
      expect(large).toBeGreaterThan(ceiling - 0.05);
      expect(transferUnits({ arrangement, effectiveness: ceiling, capacityRatio })).toBeUndefined();
      expect(transferUnits({ arrangement, effectiveness: 1.01, capacityRatio })).toBeUndefined();
    }
  });

  test('is undefined for arguments without meaning', () => {
    expect(effectiveness({ arrangement, ntu: -1, capacityRatio: 0.5 })).toBeUndefined();
    expect(effectiveness({ arrangement, ntu: 1, capacityRatio: 1.1 })).toBeUndefined();
    expect(effectivenessCeiling({ arrangement, capacityRatio: -0.1 })).toBeUndefined();
    expect(transferUnits({ arrangement, effectiveness: -0.1, capacityRatio: 0.5 })).toBeUndefined();
  });
});

test('the short crossflow formula stays within 4 % of the exact series, but is not it', () => {
  let worst = 0;
  for (const capacityRatio of [0.25, 0.5, 0.75, 1]) {
    for (const ntu of [0.25, 0.5, 1, 2, 4, 7]) {
      const exact = crossflowBothUnmixedEffectiveness({ ntu, capacityRatio }) ?? 0;
      worst = Math.max(worst, Math.abs((crossflowBothUnmixedApproximation({ ntu, capacityRatio }) ?? 0) / exact - 1));
    }
  }
  expect(worst).toBeGreaterThan(1e-3);
  expect(worst).toBeLessThan(0.04);
});

test('the crossflow series ends at 700 transfer units and is finite up to them', () => {
  expect(crossflowBothUnmixedEffectiveness({ ntu: 700, capacityRatio: 1 })).toBeGreaterThan(0.97);
  expect(crossflowBothUnmixedEffectiveness({ ntu: 701, capacityRatio: 1 })).toBeUndefined();
});

test('the mixed side is named by its capacity rate, so the name changes with the flows', () => {
  expect(crossflowOneMixed({ mixedKwPerK: 0.5, unmixedKwPerK: 2 }).kind).toBe('crossflowCminMixed');
  expect(crossflowOneMixed({ mixedKwPerK: 3, unmixedKwPerK: 2 }).kind).toBe('crossflowCmaxMixed');
});
