import { describe, expect, test } from 'vitest';
import { areaOfEffectivenessM2, areaOrCoefficient } from './cooler-area.ts';
import { airTemperatureEffectiveness, measuredCooler, ratedCooler } from './cooler-rating.ts';
import { cleanlinessRatio, fouledCoefficientWPerM2K, fouledTube, foulingResistanceM2KPerW } from './fouling.ts';
import { TYPICAL_FOULING, typicalFouling } from './typical-fouling.ts';

const ARRANGEMENT = { kind: 'crossflowBothUnmixed' } as const;
const SHIP = { arrangement: ARRANGEMENT, airKwPerK: 8, coolantKwPerK: 150, airInC: 190, coolantInC: 32 };

// Heat balance of the two streams; common practice, no source.
describe('cooler rating', () => {
  test('measuredCooler finds the UA that ratedCooler was given, whichever stream is the smaller', () => {
    for (const coolantKwPerK of [150, 8, 5]) {
      const rating = ratedCooler({
        arrangement: ARRANGEMENT,
        hotKwPerK: 8,
        coldKwPerK: coolantKwPerK,
        uaKwPerK: 20,
        hotInC: 190,
        coldInC: 32,
      });
      const measured = measuredCooler({ ...SHIP, coolantKwPerK, airOutC: rating?.hotOutC ?? 0 });
      expect(measured?.uaKwPerK).toBeCloseTo(20, 8);
      expect(measured?.heatRateKw).toBeCloseTo(rating?.heatRateKw ?? 0, 8);
    }
  });

  test('air temperature effectiveness differs from effectiveness once the coolant is the smaller stream', () => {
    const measured = measuredCooler({ ...SHIP, coolantKwPerK: 5, airOutC: 120 });
    expect(measured?.airTemperatureEffectiveness).toBeCloseTo(70 / 158, 12);
    expect(measured?.effectiveness).toBeCloseTo((70 / 158) * (8 / 5), 12);
  });

  test('is undefined when air enters no hotter than the coolant, warms up, or leaves colder than it', () => {
    expect(airTemperatureEffectiveness({ airInC: 32.5, airOutC: 32, coolantInC: 32 })).toBeUndefined();
    expect(measuredCooler({ ...SHIP, airOutC: 195 })).toBeUndefined();
    expect(measuredCooler({ ...SHIP, airOutC: 30 })).toBeUndefined();
    expect(measuredCooler({ ...SHIP, coolantKwPerK: 0, airOutC: 50 })).toBeUndefined();
    expect(
      ratedCooler({ arrangement: ARRANGEMENT, hotKwPerK: 0, coldKwPerK: 1, uaKwPerK: 1, hotInC: 190, coldInC: 32 }),
    ).toBeUndefined();
  });

  test('air that warms up in a cold engine has a temperature effectiveness below zero, not none', () => {
    expect(airTemperatureEffectiveness({ airInC: 40, airOutC: 50, coolantInC: 20 })).toBe(-0.5);
  });

  test('area is undefined for a coefficient of zero and a correction factor above 1', () => {
    const rates = { hotKwPerK: 1, coldKwPerK: 2 };
    expect(
      areaOfEffectivenessM2({ arrangement: ARRANGEMENT, ...rates, overallWPerM2K: 0, effectiveness: 0.5 }),
    ).toBeUndefined();
    const ends = { hotInC: 90, hotOutC: 60, coldInC: 20, coldOutC: 40 };
    expect(areaOrCoefficient({ ...ends, heatRateKw: 10, given: 100, correctionFactor: 1.1 })).toBeUndefined();
  });
});

describe('fouling', () => {
  test('a resistance taken from two coefficients leads back to the fouled one', () => {
    const p = { cleanWPerM2K: 60, fouledWPerM2K: 50 };
    expect(
      fouledCoefficientWPerM2K({ cleanWPerM2K: 60, foulingM2KPerW: foulingResistanceM2KPerW(p) ?? 0 }),
    ).toBeCloseTo(50, 10);
  });

  test('a coefficient above the clean one gives a resistance below zero: the baseline is wrong', () => {
    expect(foulingResistanceM2KPerW({ cleanWPerM2K: 50, fouledWPerM2K: 60 })).toBeLessThan(0);
    expect(cleanlinessRatio({ cleanWPerM2K: 50, fouledWPerM2K: 60 })).toBe(1.2);
  });

  test('is undefined where there is no coefficient, no wall or no resistance left', () => {
    expect(foulingResistanceM2KPerW({ cleanWPerM2K: 50, fouledWPerM2K: 0 })).toBeUndefined();
    expect(fouledCoefficientWPerM2K({ cleanWPerM2K: 50, foulingM2KPerW: -0.02 })).toBeUndefined();
    const noWall = { innerDiameterM: 0.02, outerDiameterM: 0.02, wallConductivityWPerMK: 50 };
    const surfaces = { insideWPerM2K: 100, outsideWPerM2K: 100, insideFoulingM2KPerW: 0, outsideFoulingM2KPerW: 0 };
    expect(fouledTube({ ...noWall, ...surfaces })).toBeUndefined();
  });

  test('the table of typical resistances names each service once, and is read without regard to case', () => {
    expect(new Set(TYPICAL_FOULING.map((entry) => entry.service)).size).toBe(TYPICAL_FOULING.length);
    expect(typicalFouling('Compressed  AIR')?.resistanceM2KPerW).toBeCloseTo(1.76e-4, 6);
    expect(typicalFouling('treacle')).toBeUndefined();
  });
});
