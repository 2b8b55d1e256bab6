import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { significantCode, significantValue } from './significant.ts';

const digits = fc.integer({ min: 1, max: 9 });
const number = fc.oneof(
  fc.double({ min: -1e6, max: 1e6, noNaN: true }),
  fc.double({ min: -1e150, max: 1e150, noNaN: true }),
  fc.integer({ min: -20, max: 20 }).map((exponent) => Number(`1e${exponent}`)),
  fc.integer({ min: -20, max: 20 }).map((exponent) => Number(`9.99999999e${exponent}`)),
);

describe('significantCode', () => {
  // ECMA-262, Number.prototype.toPrecision: rounds to significant digits; the language's own second opinion.
  test('rounds as toPrecision does, save for ties and what is below 10^-9', () => {
    fc.assert(
      fc.property(number, digits, (value, count) => {
        const kept = significantValue(significantCode(value, count), count);
        const expected = Number(value.toPrecision(count));
        const step = Math.max(10 ** (Math.floor(Math.log10(Math.abs(value) || 1e-9)) + 1 - count), 1e-9);
        expect(Math.abs(kept - value)).toBeLessThanOrEqual(step * 0.500001);
        expect(Math.abs(kept - expected)).toBeLessThanOrEqual(step * 1.000001);
      }),
    );
  });

  test('a rounded number is kept as it is', () => {
    fc.assert(
      fc.property(number, digits, (value, count) => {
        const once = significantValue(significantCode(value, count), count);
        expect(significantValue(significantCode(once, count), count)).toBe(once);
      }),
    );
  });

  test('a number of few decimals comes back to the last bit', () => {
    for (const value of [0, 0.1, 101.3, -40, 1e-9, 12_345, 99_999, 0.72345, 3.2e21]) {
      expect(significantValue(significantCode(value, 5), 5)).toBe(value);
    }
  });

  test('rises with the number, step by step across powers of ten', () => {
    fc.assert(
      fc.property(number, number, digits, (a, b, count) => {
        if (a <= b) expect(significantCode(a, count)).toBeLessThanOrEqual(significantCode(b, count));
      }),
    );
    expect(significantCode(10, 3) - significantCode(9.99, 3)).toBe(1);
    expect(significantCode(1e-6, 3) - significantCode(0.999e-6, 3)).toBe(1);
  });
});
