import { expect, test } from 'vitest';
import { speedDensityAirFlowKgPerS, volumetricEfficiency } from './air-flow.ts';
import { pressureDropCoefficientPerM4, pressureDropKpa } from './flow-resistance.ts';

const TRUCK = { displacementL: 12.8, speedRpm: 1200, strokes: 4 as const };
const CHARGE = { manifoldAbsKpa: 240, manifoldTemperatureC: 40 };

// From the definition of the four-stroke and two-stroke cycles; common practice, no source.
test('a two-stroke sweeps its cylinders every revolution, a four-stroke every other', () => {
  const four = speedDensityAirFlowKgPerS({ ...TRUCK, ...CHARGE, volumetricEfficiency: 0.93 }) ?? 0;
  const two = speedDensityAirFlowKgPerS({ ...TRUCK, strokes: 2, ...CHARGE, volumetricEfficiency: 0.93 }) ?? 0;
  expect(two / four).toBeCloseTo(2, 12);
});

test('volumetricEfficiency undoes speedDensityAirFlowKgPerS', () => {
  const airFlowKgPerS = speedDensityAirFlowKgPerS({ ...TRUCK, ...CHARGE, volumetricEfficiency: 0.93 }) ?? 0;
  const reference = { referenceAbsKpa: CHARGE.manifoldAbsKpa, referenceTemperatureC: CHARGE.manifoldTemperatureC };
  expect(volumetricEfficiency({ ...TRUCK, airFlowKgPerS, ...reference })).toBeCloseTo(0.93, 12);
});

test('a standing engine draws nothing and has no volumetric efficiency', () => {
  const standing = { ...TRUCK, speedRpm: 0 };
  expect(speedDensityAirFlowKgPerS({ ...standing, ...CHARGE, volumetricEfficiency: 0.93 })).toBe(0);
  expect(
    volumetricEfficiency({ ...standing, airFlowKgPerS: 0, referenceAbsKpa: 100, referenceTemperatureC: 25 }),
  ).toBeUndefined();
});

test('a manifold pressure that is not above absolute zero gives no flow', () => {
  expect(
    speedDensityAirFlowKgPerS({ ...TRUCK, manifoldAbsKpa: 0, manifoldTemperatureC: 40, volumetricEfficiency: 0.93 }),
  ).toBeUndefined();
});

test('the drop coefficient of one passage is the same at two loads, by the square law', () => {
  const clean = pressureDropCoefficientPerM4({ pressureDropKpa: 8, densityKgPerM3: 2.4, airFlowKgPerS: 0.4 }) ?? 0;
  const halfLoadKpa = pressureDropKpa({ coefficientPerM4: clean, densityKgPerM3: 1.8, airFlowKgPerS: 0.2 }) ?? 0;
  // dp goes with m^2 / rho: a quarter of the square, times 2.4/1.8.
  expect(halfLoadKpa).toBeCloseTo((8 / 4) * (2.4 / 1.8), 12);
});

test('without flow there is no drop coefficient, and a sensor offset below zero stays one', () => {
  expect(pressureDropCoefficientPerM4({ pressureDropKpa: 0.1, densityKgPerM3: 1.2, airFlowKgPerS: 0 })).toBeUndefined();
  expect(pressureDropCoefficientPerM4({ pressureDropKpa: -0.1, densityKgPerM3: 1.2, airFlowKgPerS: 0.1 })).toBeLessThan(
    0,
  );
});
