import { describe, expect, test } from 'vitest';
import { airEnthalpyRiseKjPerKg, airHeatCapacityKjPerKgK, isentropicAirTemperatureC } from './air-properties.ts';
import { celsius, kelvin } from './kelvin.ts';

describe('dry air whose specific heat grows', () => {
  // Keenan, Chao and Kaye, Gas Tables, as in Cengel and Boles, table A-17 (from memory): K, h in kJ/kg, relative pressure.
  const TABLE = [
    [300, 300.19, 1.386],
    [400, 400.98, 3.806],
    [500, 503.02, 8.411],
    [600, 607.02, 16.28],
    [1000, 1046.04, 114.0],
  ] as const;
  const [first] = TABLE;

  test.each(TABLE.slice(1))(
    'from 300 K to %d K takes the enthalpy of the gas tables within 0.2 %',
    (temperatureK, enthalpy) => {
      const rise = airEnthalpyRiseKjPerKg({ fromC: celsius(first[0]), toC: celsius(temperatureK) }) ?? 0;
      expect(Math.abs(rise / (enthalpy - first[1]) - 1)).toBeLessThan(2e-3);
    },
  );

  test.each(TABLE.slice(1, 4))(
    'isentropic compression to %d K takes the pressure ratio of the gas tables',
    (temperatureK, _, relative) => {
      const outletC =
        isentropicAirTemperatureC({ inletTemperatureC: celsius(first[0]), pressureRatio: relative / first[2] }) ?? 0;
      expect(Math.abs(kelvin(outletC) - temperatureK)).toBeLessThan(0.5);
    },
  );

  test('the specific heat at 300 K is 1.005 kJ/(kg K) (Cengel and Boles, table A-2, from memory)', () => {
    expect(airHeatCapacityKjPerKgK(celsius(300))).toBeCloseTo(1.005, 3);
  });

  test('compression and expansion undo each other, and a pressure ratio of 1 changes nothing', () => {
    const hotC = isentropicAirTemperatureC({ inletTemperatureC: 20, pressureRatio: 4 }) ?? 0;
    expect(isentropicAirTemperatureC({ inletTemperatureC: hotC, pressureRatio: 0.25 })).toBeCloseTo(20, 8);
    expect(isentropicAirTemperatureC({ inletTemperatureC: 20, pressureRatio: 1 })).toBeCloseTo(20, 8);
  });

  test('is undefined outside the data and for a pressure ratio without meaning', () => {
    expect(airHeatCapacityKjPerKgK(-80)).toBeUndefined();
    expect(airEnthalpyRiseKjPerKg({ fromC: 20, toC: 800 })).toBeUndefined();
    expect(isentropicAirTemperatureC({ inletTemperatureC: 600, pressureRatio: 10 })).toBeUndefined();
    expect(isentropicAirTemperatureC({ inletTemperatureC: 20, pressureRatio: 0 })).toBeUndefined();
  });
});
