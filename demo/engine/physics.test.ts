import { describe, expect, test } from 'vitest';
import { barometerAtHeightKpa } from '../weather.ts';
import { coolerEffectiveness, designTransferUnits } from './cooler.ts';
import { airHeatCapacity, exhaustEnthalpy, exhaustTemperatureK, holeFlow } from './gas.ts';
import { galleryPressureKpa, oilViscosity } from './lubrication.ts';
import { expandedShareOf, expansionRatioOf } from './turbine-map.ts';

describe('the parts of the engine model', () => {
  // Air tables (Incropera, Fundamentals of Heat and Mass Transfer, table A.4): 1.007 at 300 K, 1.014 at 400 K, 1.030 at 500 K.
  test.each([
    [300, 1.007],
    [400, 1.014],
    [500, 1.03],
  ])('air at %d K has a heat capacity within 1 % of the table', (temperatureK, table) => {
    expect(Math.abs(airHeatCapacity(temperatureK) / table - 1)).toBeLessThan(0.01);
  });

  test('exhaust temperature and enthalpy are each other’s inverse', () => {
    expect(exhaustTemperatureK(exhaustEnthalpy(823))).toBeCloseTo(823, 8);
  });

  // Compressible flow tables: choked mass flux of air is 0.0404 kg/s per m², Pa and root kelvin (kappa 1.4).
  test('a choked hole passes the flow of the gas tables', () => {
    const flow = holeFlow({ diameterMm: 10, upstreamKpa: 300, downstreamKpa: 100, temperatureK: 330 });
    const area = (Math.PI / 4) * 1e-4;
    expect(flow).toBeCloseTo((0.8 * 0.0404 * area * 300_000) / Math.sqrt(330), 4);
    expect(holeFlow({ diameterMm: 10, upstreamKpa: 99, downstreamKpa: 100, temperatureK: 330 })).toBe(0);
  });

  // Kays and London, Compact Heat Exchangers, counterflow table: NTU 2 and capacity ratio 0.5 give 0.775.
  test('the cooler reads the counterflow table', () => {
    const at = (transferUnits: number, capacityRatio: number) =>
      coolerEffectiveness({ transferUnits, capacityRatio, flowRatio: 1, conductanceFactor: 1, mediumFlowFactor: 1 });
    expect(at(2, 0.5)).toBeCloseTo(0.775, 3);
    expect(at(1, 1)).toBeCloseTo(0.5, 6);
    const design = { effectiveness: 0.83, airFlowKgS: 1, capacityRatio: 0.35, dropKpa: 1, densityKgM3: 1 };
    expect(at(designTransferUnits(design), 0.35)).toBeCloseTo(0.83, 10);
  });

  test('effectiveness falls with flow, fouling and lack of cooling medium', () => {
    const base = { transferUnits: 2.2, capacityRatio: 0.35, flowRatio: 1, conductanceFactor: 1, mediumFlowFactor: 1 };
    const clean = coolerEffectiveness(base);
    expect(coolerEffectiveness({ ...base, flowRatio: 1.4 })).toBeLessThan(clean);
    expect(coolerEffectiveness({ ...base, conductanceFactor: 0.7 })).toBeLessThan(clean);
    expect(coolerEffectiveness({ ...base, mediumFlowFactor: 0.5 })).toBeLessThan(clean);
  });

  // ISO 2533 standard atmosphere: 101.325 kPa at sea level, 95.461 at 500 m, 84.556 at 1500 m.
  test.each([
    [0, 101.325],
    [500, 95.461],
    [1500, 84.556],
  ])('the barometer at %d m is that of the standard atmosphere', (heightM, kpa) => {
    expect(barometerAtHeightKpa(101.325, heightM)).toBeCloseTo(kpa, 1);
  });

  // SAE J300: a 15W-40 has 12.5 to 16.3 mm²/s at 100 °C; with 0.83 kg/L that is 10.4 to 13.5 mPa·s.
  test('oil is as thick hot as its grade allows, and far thicker cold', () => {
    expect(oilViscosity(100)).toBeGreaterThan(10.4);
    expect(oilViscosity(100)).toBeLessThan(13.5);
    expect(oilViscosity(40)).toBeGreaterThan(75);
  });

  test('oil pressure rises with speed, falls as oil warms and pump wears, and the relief valve caps it', () => {
    const design = { ratedPressureKpa: 470, reliefPressureKpa: 420, ratedSpeedRpm: 1800 };
    const at = (speedRpm: number, oilTemperatureC: number, pumpFactor = 1) =>
      galleryPressureKpa(design, { speedRpm, oilTemperatureC, pumpFactor, clearanceFactor: 1 });
    expect(at(1800, 95)).toBeGreaterThan(at(600, 95));
    expect(at(1200, 85)).toBeGreaterThan(at(1200, 110));
    expect(at(1200, 95, 0.7)).toBeLessThan(at(1200, 95));
    expect(at(1800, 20)).toBeLessThan(420 * 1.15);
  });

  test('a turbine needs no pressure for no flow, and ever more for more', () => {
    expect(expansionRatioOf(0)).toBeCloseTo(1, 6);
    expect(expandedShareOf(0)).toBeCloseTo(0, 6);
    let last = 1;
    for (let reduced = 10; reduced <= 120; reduced += 10) {
      const ratio = expansionRatioOf(reduced);
      expect(ratio).toBeGreaterThan(last);
      last = ratio;
    }
  });
});
