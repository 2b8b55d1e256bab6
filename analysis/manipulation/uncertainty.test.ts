import { describe, expect, test } from 'vitest';
import { airTemperatureEffectiveness } from './cooler-rating.ts';
import { propagatedUncertainty } from './uncertainty.ts';

describe('propagatedUncertainty', () => {
  // JCGM 100:2008, annex H.2: resistance and reactance from correlated voltage, current and phase; tables H.3 and H.4.
  const INPUTS = {
    voltage: { value: 4.999, standardUncertainty: 0.0032 },
    current: { value: 19.661e-3, standardUncertainty: 0.0095e-3 },
    phase: { value: 1.04446, standardUncertainty: 0.00075 },
  };
  type Key = keyof typeof INPUTS;
  const CORRELATION: Readonly<Record<string, number>> = {
    'voltage current': -0.36,
    'voltage phase': 0.86,
    'current phase': -0.65,
  };
  const correlation = (one: Key, other: Key) => CORRELATION[`${one} ${other}`] ?? CORRELATION[`${other} ${one}`] ?? 0;

  test.each([
    ['resistance', (x: Readonly<Record<Key, number>>) => (x.voltage / x.current) * Math.cos(x.phase), 127.732, 0.071],
    ['reactance', (x: Readonly<Record<Key, number>>) => (x.voltage / x.current) * Math.sin(x.phase), 219.847, 0.295],
    ['impedance', (x: Readonly<Record<Key, number>>) => x.voltage / x.current, 254.26, 0.236],
  ])('gives the %s of JCGM 100, H.2', (_, of, value, standardUncertainty) => {
    const result = propagatedUncertainty({ of, inputs: INPUTS, correlation });
    expect(result?.value).toBeCloseTo(value, 2);
    expect(Math.abs((result?.standardUncertainty ?? 0) / standardUncertainty - 1)).toBeLessThan(0.02);
  });

  test('uncorrelated parts add in squares and each part is told (JCGM 100, 5.1.2)', () => {
    const inputs = { a: { value: 10, standardUncertainty: 3 }, b: { value: 20, standardUncertainty: 2 } };
    const result = propagatedUncertainty({ of: ({ a, b }) => a - 2 * b, inputs });
    expect(result).toEqual({ value: -30, standardUncertainty: 5, contributions: { a: 3, b: -4 } });
  });

  test('a common error of two sensors falls out of their difference', () => {
    const inputs = { a: { value: 10, standardUncertainty: 3 }, b: { value: 20, standardUncertainty: 3 } };
    const result = propagatedUncertainty({ of: ({ a, b }) => a - b, inputs, correlation: () => 1 });
    expect(result?.standardUncertainty).toBe(0);
  });

  test('an exact input adds nothing', () => {
    const inputs = { a: { value: 10, standardUncertainty: 0 }, b: { value: 2, standardUncertainty: 0.5 } };
    expect(propagatedUncertainty({ of: ({ a, b }) => a * b, inputs })?.standardUncertainty).toBe(5);
  });

  test('1 K on each of three sensors is 0.011 of effectiveness over a span of 119 K', () => {
    // Common practice, no source: first order by hand, sqrt(1 + 0.8^2 + 0.2^2) / 119.
    const kelvin = (value: number) => ({ value, standardUncertainty: 1 });
    const inputs = { airInC: kelvin(149), airOutC: kelvin(53.8), coolantInC: kelvin(30) };
    expect(propagatedUncertainty({ of: airTemperatureEffectiveness, inputs })?.standardUncertainty).toBeCloseTo(
      0.011,
      3,
    );
  });

  test('is undefined when the formula is, there or within one standard uncertainty', () => {
    const of = ({ span }: { span: number }) => (span > 1 ? 1 / span : undefined);
    expect(propagatedUncertainty({ of, inputs: { span: { value: 0, standardUncertainty: 1 } } })).toBeUndefined();
    expect(propagatedUncertainty({ of, inputs: { span: { value: 1.5, standardUncertainty: 1 } } })).toBeUndefined();
    expect(propagatedUncertainty({ of, inputs: { span: { value: 4, standardUncertainty: 1 } } })).toBeDefined();
  });
});
