import { describe, expect, test } from 'vitest';
import { UNITS, type UnitKey } from './unit-table.ts';
import { convert, convertDifference, linearConversion, parseUnit } from './units.ts';

describe('parseUnit', () => {
  // Spellings met in headers of open on-board and test-bench logs; common practice, no source.
  test.each([
    ['kPa', 'kPa'],
    ['kpa', 'kPa'],
    ['[bar]', 'bar'],
    ['℃', 'degC'],
    ['°C', 'degC'],
    ['degC', 'degC'],
    ['C', 'degC'],
    ['Deg. F', 'degF'],
    ['l/h', 'L/h'],
    ['L/hr', 'L/h'],
    ['1/min', 'rpm'],
    ['min⁻¹', 'rpm'],
    ['g/sec', 'g/s'],
    ['kg/cm²', 'kgf/cm2'],
    ['gal (UK)/h', 'galUK/h'],
    ['m³/s', 'm3/s'],
    ['N·m', 'N m'],
    ['g/kWh', 'g/(kW h)'],
    ['Percent', '%'],
    ['inH₂O', 'inH2O'],
  ])('%s is the unit %s', (text, unit) => {
    expect(parseUnit(text)).toEqual({ unit });
  });

  test.each([
    ['psig', 'psi', 'gauge'],
    ['PSIA', 'psi', 'absolute'],
    ['psid', 'psi', 'differential'],
    ['bar(g)', 'bar', 'gauge'],
    ['bar a', 'bar', 'absolute'],
    ['kPa abs', 'kPa', 'absolute'],
    ['mbar gauge', 'mbar', 'gauge'],
  ])('%s is %s and says the reference %s', (text, unit, reference) => {
    expect(parseUnit(text)).toEqual({ unit, reference });
  });

  test.each(['', 'furlong', 'rpm abs', 'degCg', 'kPa/s'])('"%s" is no unit', (text) => {
    expect(parseUnit(text)).toBeUndefined();
  });

  test('finds every unit by its own key, so no spelling is claimed twice', () => {
    for (const key of Object.keys(UNITS)) expect(parseUnit(key)).toEqual({ unit: key });
    const spellings = Object.values(UNITS).flatMap((unit) => unit.spellings.map((spelling) => spelling.toLowerCase()));
    expect(new Set(spellings).size).toBe(spellings.length);
  });
});

describe('convert', () => {
  // NIST SP 811 (2008), appendix B.8 and B.9, printed to seven digits: half of the last one at most.
  test.each<[UnitKey, UnitKey, number]>([
    ['psi', 'kPa', 6.894757],
    ['inHg', 'kPa', 3.386389],
    ['inH2O', 'Pa', 249.0889],
    ['mmHg', 'Pa', 133.3224],
    ['mmH2O', 'Pa', 9.80665],
    ['torr', 'Pa', 133.3224],
    ['hp', 'kW', 0.7456999],
    ['PS', 'W', 735.4988],
    ['gal/h', 'L/h', 3.785412],
    ['galUK/h', 'L/h', 4.54609],
    ['lb/min', 'kg/s', 0.007559873],
    ['mph', 'km/h', 1.609344],
    ['kn', 'km/h', 1.852],
    ['Btu', 'J', 1055.056],
    ['lbf ft', 'N m', 1.355818],
    ['rpm', 'rad/s', 0.1047198],
    ['ftH2O', 'Pa', 2989.067],
    ['Btu/lb', 'J/kg', 2326],
    ['Btu/(lb degF)', 'J/(kg K)', 4186.8],
  ])('one %s in %s', (from, to, expected) => {
    expect(Math.abs((convert({ value: 1, from, to }) ?? 0) / expected - 1)).toBeLessThan(5e-7);
  });

  test('water boils at 212 °F, 100 °C, 373.15 K (NIST SP 811, appendix B.8)', () => {
    expect(convert({ value: 212, from: 'degF', to: 'degC' })).toBeCloseTo(100, 10);
    expect(convert({ value: 100, from: 'degC', to: 'K' })).toBe(373.15);
  });

  test('a canonical value in its own unit is untouched', () => {
    expect(linearConversion({ from: 'degC', to: 'degC' })).toEqual({ scale: 1, offset: 0 });
    expect(convert({ value: 0.1 + 0.2, from: 'kPa', to: 'kPa' })).toBe(0.1 + 0.2);
  });

  test('refuses to turn a pressure into a temperature, or a mass flow into a volume flow', () => {
    expect(convert({ value: 1, from: 'kPa', to: 'degC' })).toBeUndefined();
    expect(linearConversion({ from: 'kg/h', to: 'L/h' })).toBeUndefined();
  });
});

test('convertDifference leaves the zero points out: 18 °F of rise are 10 K', () => {
  expect(convertDifference({ value: 18, from: 'degF', to: 'degC' })).toBeCloseTo(10, 12);
});
