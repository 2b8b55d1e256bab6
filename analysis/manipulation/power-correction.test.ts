import { describe, expect, test } from 'vitest';
import {
  atmosphericFactor,
  correctedFuelDeliveryMgPerLCycle,
  dieselCorrectionFactor,
  engineFactor,
} from './atmospheric-correction.ts';
import {
  ADJUSTMENT_EXPONENTS,
  fuelAdjustmentFactor,
  ISO_3046_REFERENCE,
  indicatedPowerRatio,
  powerAdjustmentFactor,
} from './iso3046-power.ts';

// At the reference conditions of a standard nothing is corrected (ISO 3046-1; UN Regulation No. 85, annex 5).
describe('power correction', () => {
  test.each(Object.entries(ADJUSTMENT_EXPONENTS))(
    '%s engines keep their power at the reference conditions',
    (_, exponents) => {
      const ratio = indicatedPowerRatio({ site: ISO_3046_REFERENCE, reference: ISO_3046_REFERENCE, exponents }) ?? 0;
      expect(ratio).toBe(1);
      expect(powerAdjustmentFactor({ indicatedPowerRatio: ratio, mechanicalEfficiency: 0.85 })).toBe(1);
      expect(fuelAdjustmentFactor({ indicatedPowerRatio: ratio, mechanicalEfficiency: 0.85 })).toBe(1);
    },
  );

  test('is undefined when the humidity or coolant that counts is not given', () => {
    const site = { pressureAbsKpa: 90, temperatureK: 310 };
    const { naturallyAspirated, turbocharged, turbochargedAndCooled } = ADJUSTMENT_EXPONENTS;
    expect(indicatedPowerRatio({ site, reference: ISO_3046_REFERENCE, exponents: naturallyAspirated })).toBeUndefined();
    expect(
      indicatedPowerRatio({ site, reference: ISO_3046_REFERENCE, exponents: turbochargedAndCooled }),
    ).toBeUndefined();
    expect(indicatedPowerRatio({ site, reference: ISO_3046_REFERENCE, exponents: turbocharged })).toBeLessThan(1);
  });

  test('is undefined when friction would take all power', () => {
    expect(powerAdjustmentFactor({ indicatedPowerRatio: 0.01, mechanicalEfficiency: 0.5 })).toBeUndefined();
    expect(fuelAdjustmentFactor({ indicatedPowerRatio: 0.01, mechanicalEfficiency: 0.5 })).toBeUndefined();
  });

  test('the atmospheric factor is 1 at 99 kPa dry and 298 K, and undefined without pressure', () => {
    const exponents = { pressure: 0.7, temperature: 1.5 };
    expect(atmosphericFactor({ test: { dryPressureAbsKpa: 99, temperatureK: 298 }, exponents })).toBe(1);
    expect(atmosphericFactor({ test: { dryPressureAbsKpa: 0, temperatureK: 298 }, exponents })).toBeUndefined();
    expect(dieselCorrectionFactor({ atmosphericFactor: 0, engineFactor: 0.3 })).toBeUndefined();
  });

  test('the engine factor has no step at its knees (ISO 1585 within the rounding of 37.2)', () => {
    expect(engineFactor({ correctedFuelMgPerLCycle: 40, rule: 'UN R85' })).toBeCloseTo(0.3, 12);
    expect(engineFactor({ correctedFuelMgPerLCycle: 65, rule: 'UN R85' })).toBeCloseTo(1.2, 12);
    expect(engineFactor({ correctedFuelMgPerLCycle: 37.2, rule: 'ISO 1585' })).toBeCloseTo(0.2, 2);
    expect(engineFactor({ correctedFuelMgPerLCycle: -1, rule: 'UN R85' })).toBeUndefined();
  });

  test('a standing engine has no fuel delivery per cycle', () => {
    const p = { fuelFlowKgPerS: 0.01, displacementL: 12, strokes: 4 as const, boostPressureRatio: 2.5 };
    expect(correctedFuelDeliveryMgPerLCycle({ ...p, speedRpm: 0 })).toBeUndefined();
  });
});
