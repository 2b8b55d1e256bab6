import { describe, expect, test } from 'vitest';
import { dryAirDensityKgPerM3, moistAirDensityKgPerM3 } from './air-density.ts';
import { chargeCondensateKgPerKgDryAir, chargeDewPointC } from './charge-condensation.ts';
import { airDewPointC, dryAirPressureKpa, humidityRatio, vapourPressureKpa } from './moist-air.ts';

const TROPICAL = { temperatureC: 35, relativeHumidityRatio: 0.8, pressureAbsKpa: 101.325 };

describe('moist air', () => {
  test('tropical air is 1.7 % lighter than dry air', () => {
    // From the composition of the mixture: 4.5 kPa of vapour at 0.378 of its weight missing; common practice, no source.
    const dry = dryAirDensityKgPerM3(TROPICAL) ?? 0;
    expect((moistAirDensityKgPerM3(TROPICAL) ?? 0) / dry).toBeCloseTo(0.983, 3);
  });

  test('dry air has no dew point, a humidity ratio of exactly 0 and the full pressure', () => {
    const dry = { ...TROPICAL, relativeHumidityRatio: 0 };
    expect(airDewPointC(dry)).toBeUndefined();
    expect(humidityRatio(dry)).toBe(0);
    expect(dryAirPressureKpa(dry)).toBe(101.325);
  });

  test('saturated air has its own temperature as dew point', () => {
    expect(airDewPointC({ temperatureC: 35, relativeHumidityRatio: 1 })).toBeCloseTo(35, 8);
  });

  test('a relative humidity in percent is refused, not taken for a fraction', () => {
    expect(vapourPressureKpa({ temperatureC: 20, relativeHumidityRatio: 50 })).toBeUndefined();
    expect(humidityRatio({ ...TROPICAL, relativeHumidityRatio: -0.1 })).toBeUndefined();
  });

  test('is undefined when the water would boil', () => {
    const boiling = { temperatureC: 120, relativeHumidityRatio: 1, pressureAbsKpa: 101.325 };
    expect(humidityRatio(boiling)).toBeUndefined();
    expect(moistAirDensityKgPerM3(boiling)).toBeUndefined();
    expect(dryAirPressureKpa(boiling)).toBeUndefined();
  });
});

describe('charge-air condensation', () => {
  test('no water falls out above the dew point, and the first drop falls just below it', () => {
    const chargeAbsKpa = 350;
    const dewC = chargeDewPointC({ ambient: TROPICAL, chargeAbsKpa }) ?? Number.NaN;
    expect(chargeCondensateKgPerKgDryAir({ ambient: TROPICAL, chargeAbsKpa, outletTemperatureC: dewC + 0.01 })).toBe(0);
    expect(
      chargeCondensateKgPerKgDryAir({ ambient: TROPICAL, chargeAbsKpa, outletTemperatureC: dewC - 0.01 }),
    ).toBeGreaterThan(0);
  });

  test('charge hotter than its boiling point keeps all its water', () => {
    expect(chargeCondensateKgPerKgDryAir({ ambient: TROPICAL, chargeAbsKpa: 350, outletTemperatureC: 190 })).toBe(0);
  });

  test('gauge pressure in place of absolute moves the dew point by kelvins', () => {
    const right = chargeDewPointC({ ambient: TROPICAL, chargeAbsKpa: 300 }) ?? 0;
    const wrong = chargeDewPointC({ ambient: TROPICAL, chargeAbsKpa: 300 - 101.325 }) ?? 0;
    expect(right - wrong).toBeGreaterThan(7);
  });
});
