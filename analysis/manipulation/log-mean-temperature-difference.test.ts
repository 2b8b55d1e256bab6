import { describe, expect, test } from 'vitest';
import { correctionFactor, logMeanTemperatureDifferenceK } from './log-mean-temperature-difference.ts';

const ENDS = { hotInC: 180, hotOutC: 50, coldInC: 25, coldOutC: 35 };

// Limits as in Shah and Sekulic, Fundamentals of Heat Exchanger Design (2003), section 3.7.
describe('logMeanTemperatureDifferenceK', () => {
  test('is the end difference when both ends are equal, and has no step there', () => {
    expect(logMeanTemperatureDifferenceK({ hotInC: 80, hotOutC: 60, coldInC: 20, coldOutC: 40 })).toBe(40);
    expect(logMeanTemperatureDifferenceK({ hotInC: 80 + 1e-9, hotOutC: 60, coldInC: 20, coldOutC: 40 })).toBeCloseTo(
      40,
      8,
    );
  });

  test('is undefined when the streams meet or cross at an end', () => {
    expect(logMeanTemperatureDifferenceK({ ...ENDS, hotOutC: 25 })).toBeUndefined();
    expect(logMeanTemperatureDifferenceK({ ...ENDS, coldOutC: 181 })).toBeUndefined();
    expect(
      logMeanTemperatureDifferenceK({ hotInC: 90, hotOutC: 50, coldInC: 20, coldOutC: 60, parallel: true }),
    ).toBeUndefined();
  });
});

describe('correctionFactor', () => {
  test('is 1 in counterflow and when one stream keeps its temperature', () => {
    expect(correctionFactor({ ...ENDS, arrangement: { kind: 'counterflow' } })).toBe(1);
    expect(correctionFactor({ ...ENDS, coldOutC: 25, arrangement: { kind: 'shells', shellCount: 1 } })).toBeCloseTo(
      1,
      12,
    );
  });

  test('is the same with hot and cold swapped', () => {
    const arrangement = { kind: 'crossflowBothUnmixed' } as const;
    // Mirrored about 102.5 °C: what was cold is hot.
    const mirrored = { hotInC: 180, hotOutC: 170, coldInC: 25, coldOutC: 155 };
    expect(correctionFactor({ ...mirrored, arrangement })).toBeCloseTo(
      correctionFactor({ ...ENDS, arrangement }) ?? 0,
      12,
    );
  });

  test('is undefined when nothing flows or the second law is broken', () => {
    const arrangement = { kind: 'crossflowBothUnmixed' } as const;
    expect(correctionFactor({ hotInC: 90, hotOutC: 90, coldInC: 20, coldOutC: 20, arrangement })).toBeUndefined();
    expect(correctionFactor({ hotInC: 90, hotOutC: 15, coldInC: 20, coldOutC: 30, arrangement })).toBeUndefined();
    expect(correctionFactor({ hotInC: 20, hotOutC: 30, coldInC: 90, coldOutC: 60, arrangement })).toBeUndefined();
  });
});
