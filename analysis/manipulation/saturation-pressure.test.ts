import { describe, expect, test } from 'vitest';
import {
  dewPointC,
  saturationPressureKpa,
  saturationPressureOverIceKpa,
  saturationPressureOverLiquidKpa,
} from './saturation-pressure.ts';

describe('saturation pressure', () => {
  test('water boils at 99.97 °C under 101.325 kPa (IAPWS-95)', () => {
    expect(saturationPressureOverLiquidKpa(99.974)).toBeCloseTo(101.325, 1);
  });

  // Smithsonian Meteorological Tables, 6th ed., tables 94 and 96, from memory: hPa over supercooled water and over ice.
  test.each([
    [-10, 0.28627, 0.2599],
    [-20, 0.1254, 0.1032],
  ])('at %d °C it is higher over supercooled water than over ice', (temperatureC, waterKpa, iceKpa) => {
    expect((saturationPressureOverLiquidKpa(temperatureC) ?? 0) / waterKpa).toBeCloseTo(1, 2);
    expect((saturationPressureOverIceKpa(temperatureC) ?? 0) / iceKpa).toBeCloseTo(1, 2);
  });

  test('refers to ice below the triple point and to water above, and the two meet there within 0.1 %', () => {
    expect(saturationPressureKpa(-10)).toBe(saturationPressureOverIceKpa(-10));
    expect(saturationPressureKpa(10)).toBe(saturationPressureOverLiquidKpa(10));
    const below = saturationPressureOverLiquidKpa(0.009) ?? 0;
    const above = saturationPressureOverLiquidKpa(0.011) ?? 0;
    expect(above / below).toBeCloseTo(1, 3);
  });

  test('is undefined outside the range of the fits', () => {
    expect(saturationPressureOverLiquidKpa(-51)).toBeUndefined();
    expect(saturationPressureOverLiquidKpa(201)).toBeUndefined();
    expect(saturationPressureOverIceKpa(1)).toBeUndefined();
    expect(saturationPressureKpa(-101)).toBeUndefined();
  });
});

describe('dewPointC', () => {
  test('undoes saturationPressureKpa on both sides of the triple point', () => {
    for (const temperatureC of [-80, -5, -0.5, 0.5, 20, 60, 150]) {
      expect(dewPointC(saturationPressureKpa(temperatureC) ?? 0)).toBeCloseTo(temperatureC, 8);
    }
  });

  test('does not tear where the fit over ice meets the one over water', () => {
    for (const pressurePa of [611.6, 611.64, 611.655, 611.657, 611.66, 611.7]) {
      expect(dewPointC(pressurePa / 1000)).toBeCloseTo(0.01, 1);
    }
  });

  test('is undefined for perfectly dry air and past the fits', () => {
    expect(dewPointC(0)).toBeUndefined();
    expect(dewPointC(1e-9)).toBeUndefined();
    expect(dewPointC(2000)).toBeUndefined();
  });
});
