import { describe, expect, test } from 'vitest';
import {
  compressorIsentropicEfficiency,
  isentropicOfPolytropicEfficiency,
  polytropicEfficiency,
} from './compressor-efficiency.ts';
import { compressorPowerKw, isentropicWorkKjPerKg, perfectGasHeatCapacityKjPerKgK } from './compressor-power.ts';
import { compressorOutletTemperatureC, isentropicOutletTemperatureC } from './compressor-temperature.ts';
import { compressorPowerShare, turbineOutletTemperatureC } from './turbine.ts';

// Where no source stands beside a check it follows from the definition of efficiency (ISO 5389 and any textbook).
describe('compressorIsentropicEfficiency', () => {
  const p = { inletTemperatureC: 25, pressureRatio: 2.5 };

  test('is undefined near a pressure ratio of 1, instead of huge or negative', () => {
    for (const pressureRatio of [0.9, 1, 1.04]) {
      expect(
        compressorIsentropicEfficiency({ ...p, pressureRatio, outletTemperatureC: 30, heatCapacityRatio: 1.4 }),
      ).toBeUndefined();
    }
  });

  test('is undefined when the air does not warm up, or so little that no compressor could do it', () => {
    for (const outletTemperatureC of [20, 25, 26.5, 60]) {
      expect(compressorIsentropicEfficiency({ ...p, outletTemperatureC })).toBeUndefined();
    }
  });

  test('undoes compressorOutletTemperatureC, with constant and with growing specific heat', () => {
    for (const gas of [{}, { heatCapacityRatio: 1.4 }]) {
      const outletTemperatureC = compressorOutletTemperatureC({ ...p, ...gas, isentropicEfficiency: 0.76 }) ?? 0;
      expect(compressorIsentropicEfficiency({ ...p, ...gas, outletTemperatureC })).toBeCloseTo(0.76, 8);
    }
  });

  test('a perfect compressor delivers the isentropic temperature; none is better', () => {
    const idealC = isentropicOutletTemperatureC(p) ?? 0;
    expect(compressorOutletTemperatureC({ ...p, isentropicEfficiency: 1 })).toBeCloseTo(idealC, 8);
    expect(compressorOutletTemperatureC({ ...p, isentropicEfficiency: 1.01 })).toBeUndefined();
    expect(compressorOutletTemperatureC({ ...p, isentropicEfficiency: 0 })).toBeUndefined();
  });

  test('gauge in place of absolute pressure shows as an efficiency far too low', () => {
    const right = compressorIsentropicEfficiency({ ...p, outletTemperatureC: 140 }) ?? 0;
    const wrong = compressorIsentropicEfficiency({ ...p, pressureRatio: 1.5, outletTemperatureC: 140 }) ?? 0;
    expect(wrong / right).toBeLessThan(0.5);
  });
});

describe('polytropic efficiency', () => {
  test('goes back to the isentropic one, and stays above it', () => {
    const gas = { pressureRatio: 3.5, heatCapacityRatio: 1.4 };
    const polytropic = polytropicEfficiency({ ...gas, isentropicEfficiency: 0.78 }) ?? 0;
    expect(polytropic).toBeGreaterThan(0.78);
    expect(isentropicOfPolytropicEfficiency({ ...gas, polytropicEfficiency: polytropic })).toBeCloseTo(0.78, 12);
  });

  test('is undefined near a pressure ratio of 1 and for an efficiency outside 0 to 1', () => {
    expect(
      polytropicEfficiency({ pressureRatio: 1, heatCapacityRatio: 1.4, isentropicEfficiency: 0.8 }),
    ).toBeUndefined();
    expect(
      polytropicEfficiency({ pressureRatio: 2, heatCapacityRatio: 1.4, isentropicEfficiency: 1.1 }),
    ).toBeUndefined();
    expect(
      isentropicOfPolytropicEfficiency({ pressureRatio: 2, heatCapacityRatio: 1.4, polytropicEfficiency: 0 }),
    ).toBeUndefined();
  });
});

describe('power', () => {
  test('isentropic work is specific heat times the isentropic rise', () => {
    const gas = { inletTemperatureC: 25, pressureRatio: 3, heatCapacityRatio: 1.4 };
    const riseK = (isentropicOutletTemperatureC(gas) ?? 0) - 25;
    expect(isentropicWorkKjPerKg(gas)).toBeCloseTo((perfectGasHeatCapacityKjPerKgK(gas) ?? 0) * riseK, 9);
  });

  test('no air flow takes no power; a flow below zero is undefined', () => {
    expect(compressorPowerKw({ airFlowKgPerS: 0, inletTemperatureC: 20, outletTemperatureC: 150 })).toBe(0);
    expect(compressorPowerKw({ airFlowKgPerS: -1, inletTemperatureC: 20, outletTemperatureC: 150 })).toBeUndefined();
  });

  test('a turbine without a pressure drop cools nothing, and one that would heat is undefined', () => {
    const p = { inletTemperatureC: 550, heatCapacityRatio: 1.33, isentropicEfficiency: 0.8 };
    expect(turbineOutletTemperatureC({ ...p, expansionRatio: 1 })).toBeCloseTo(550, 10);
    expect(turbineOutletTemperatureC({ ...p, expansionRatio: 0.9 })).toBeUndefined();
    const still = {
      airFuelRatio: 25,
      airRiseK: 0,
      airHeatCapacityKjPerKgK: 1.005,
      gasDropK: 0,
      gasHeatCapacityKjPerKgK: 1.15,
    };
    expect(compressorPowerShare(still)).toBeUndefined();
  });
});
