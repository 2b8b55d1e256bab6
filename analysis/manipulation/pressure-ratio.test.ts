import { expect, test } from 'vitest';
import { AssertionError } from '../../schemas/assert.ts';
import { absolutePressureKpa, compressorPressureRatio } from './pressure-ratio.ts';

// Definition of gauge and absolute pressure; common practice, no source.
test('compressorPressureRatio is 1 without boost, whatever the barometer', () => {
  expect(compressorPressureRatio({ boostGaugeKpa: 0, barometricAbsKpa: 101.325 })).toBe(1);
  expect(compressorPressureRatio({ boostGaugeKpa: 0, barometricAbsKpa: 70 })).toBe(1);
});

test('the same boost is a larger ratio at altitude', () => {
  expect(compressorPressureRatio({ boostGaugeKpa: 150, barometricAbsKpa: 100 })).toBe(2.5);
  expect(compressorPressureRatio({ boostGaugeKpa: 150, barometricAbsKpa: 75 })).toBe(3);
});

test('filter depression and cooler drop both raise what the compressor really does', () => {
  const p = { boostGaugeKpa: 150, barometricAbsKpa: 100 };
  expect(compressorPressureRatio({ ...p, inletDepressionKpa: 5, coolerPressureDropKpa: 12 })).toBeCloseTo(262 / 95, 12);
});

test('suction at idle is a ratio below 1, and a reading below absolute zero is undefined', () => {
  expect(compressorPressureRatio({ boostGaugeKpa: -5, barometricAbsKpa: 100 })).toBe(0.95);
  expect(compressorPressureRatio({ boostGaugeKpa: -120, barometricAbsKpa: 100 })).toBeUndefined();
  expect(compressorPressureRatio({ boostGaugeKpa: 0, barometricAbsKpa: 100, inletDepressionKpa: 100 })).toBeUndefined();
  expect(absolutePressureKpa({ gaugeKpa: -101, barometricAbsKpa: 100 })).toBeUndefined();
});

test('a barometer of zero is a bug in the caller', () => {
  expect(() => compressorPressureRatio({ boostGaugeKpa: 150, barometricAbsKpa: 0 })).toThrow(AssertionError);
});
