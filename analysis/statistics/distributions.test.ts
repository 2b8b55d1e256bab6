import * as simple from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import { chiSquaredCdf, chiSquaredQuantile, chiSquaredUpperTail } from './chi-squared.ts';
import { fisherCdf, fisherQuantile, fisherUpperTail } from './fisher.ts';
import { logGamma } from './gamma.ts';
import { kolmogorovUpperTail } from './kolmogorov.ts';
import { normalCdf, normalQuantile, normalUpperTail } from './normal.ts';
import { gaussLegendre } from './quadrature.ts';
import { rootBetween } from './root.ts';
import { studentCdf, studentQuantile, studentUpperTail } from './student.ts';

const relative = (got: number, want: number) => Math.abs(got - want) / Math.abs(want);

describe('distributions', () => {
  // Abramowitz & Stegun, Table 26.1 (15 decimals) and Table 26.2 (far tail).
  test('normalCdf agrees with the printed table', () => {
    expect(normalCdf(1)).toBeCloseTo(0.841344746068543, 14);
    expect(normalCdf(2)).toBeCloseTo(0.977249868051821, 14);
    expect(normalCdf(-3)).toBeCloseTo(1 - 0.99865010196837, 14);
  });

  // Abramowitz & Stegun, Table 26.2: -log10 Q(x) is 6.54265 at 5, 23.11805 at 10.
  test('normalUpperTail keeps the digits of the far tail', () => {
    expect(-Math.log10(normalUpperTail(5))).toBeCloseTo(6.54265, 5);
    expect(-Math.log10(normalUpperTail(10))).toBeCloseTo(23.11805, 5);
  });

  test('normalQuantile undoes normalCdf over twelve decades', () => {
    for (const p of [1e-12, 1e-6, 0.001, 0.025, 0.3, 0.5, 0.7, 0.975, 0.9999]) {
      expect(relative(normalCdf(normalQuantile(p)), p)).toBeLessThan(1e-13);
    }
  });

  // Abramowitz & Stegun, Table 26.10 (3 decimals); NIST/SEMATECH e-Handbook 1.3.6.7.2.
  test('studentQuantile agrees with the printed table', () => {
    expect(studentQuantile(0.975, 1)).toBeCloseTo(12.706, 3);
    expect(studentQuantile(0.975, 10)).toBeCloseTo(2.228, 3);
    expect(studentQuantile(0.995, 30)).toBeCloseTo(2.75, 3);
    expect(studentQuantile(0.025, 10)).toBeCloseTo(-2.228, 3);
  });

  // Closed forms: F(t) = 1/2 + atan(t)/pi for one degree of freedom, 1/2 + t / (2 sqrt(2 + t^2)) for two.
  test('studentCdf has its closed forms at one and two degrees of freedom', () => {
    for (const t of [-30, -2, -0.1, 0, 0.5, 3, 100]) {
      expect(studentCdf(t, 1)).toBeCloseTo(0.5 + Math.atan(t) / Math.PI, 14);
      expect(studentCdf(t, 2)).toBeCloseTo(0.5 + t / (2 * Math.sqrt(2 + t * t)), 14);
    }
    expect(relative(studentUpperTail(studentQuantile(1 - 1e-9, 38), 38), 1e-9)).toBeLessThan(1e-6);
  });

  // Abramowitz & Stegun, Table 26.8 (printed to 5 figures).
  test('chiSquaredQuantile agrees with the printed table', () => {
    expect(chiSquaredQuantile(0.95, 1)).toBeCloseTo(3.84146, 5);
    expect(chiSquaredQuantile(0.95, 10)).toBeCloseTo(18.307, 3);
    expect(chiSquaredQuantile(0.05, 10)).toBeCloseTo(3.9403, 4);
  });

  // Two degrees of freedom: the upper tail is exp(-x/2).
  test('chiSquaredUpperTail is exponential at two degrees of freedom', () => {
    expect(relative(chiSquaredUpperTail(60, 2), Math.exp(-30))).toBeLessThan(1e-13);
    expect(chiSquaredCdf(1.2, 2)).toBeCloseTo(1 - Math.exp(-0.6), 14);
  });

  // Abramowitz & Stegun, Table 26.9 (printed to 3 or 4 figures); an F with (1, n) is the square of a Student value.
  test('fisherQuantile agrees with the printed table and with Student', () => {
    expect(fisherQuantile(0.95, { numerator: 5, denominator: 10 })).toBeCloseTo(3.33, 2);
    expect(fisherQuantile(0.99, { numerator: 2, denominator: 20 })).toBeCloseTo(5.85, 2);
    expect(fisherQuantile(0.95, { numerator: 1, denominator: 7 })).toBeCloseTo(studentQuantile(0.975, 7) ** 2, 9);
    expect(
      fisherCdf(2, { numerator: 3, denominator: 8 }) + fisherUpperTail(2, { numerator: 3, denominator: 8 }),
    ).toBeCloseTo(1, 14);
  });

  // Kolmogorov's table as printed in statistics texts: 1.358 at 5 %, 1.628 at 1 %.
  test('kolmogorovUpperTail has the classical critical values and both forms meet', () => {
    expect(kolmogorovUpperTail(1.3581)).toBeCloseTo(0.05, 4);
    expect(kolmogorovUpperTail(1.6276)).toBeCloseTo(0.01, 4);
    expect(kolmogorovUpperTail(1 - 1e-12)).toBeCloseTo(kolmogorovUpperTail(1), 10);
    expect(kolmogorovUpperTail(0.1)).toBe(1);
  });

  test('logGamma gives the factorials, and agrees with a second library', () => {
    expect(logGamma(1)).toBeCloseTo(0, 14);
    expect(logGamma(0.5)).toBeCloseTo(Math.log(Math.PI) / 2, 14);
    expect(relative(logGamma(11), Math.log(3628800))).toBeLessThan(1e-15);
    for (const x of [0.3, 3.7, 40.2]) expect(logGamma(x)).toBeCloseTo(simple.gammaln(x), 8);
  });

  // Abramowitz & Stegun, Table 25.4: n = 5 has nodes 0, 0.538469310105683, 0.906179845938664.
  test('gaussLegendre has the printed nodes and integrates a polynomial exactly', () => {
    const rule = gaussLegendre(5, { low: -1, high: 1 });
    expect(rule.nodes[4]).toBeCloseTo(0.906179845938664, 14);
    expect(rule.weights[2]).toBeCloseTo(0.568888888888889, 14);
    const ninth = gaussLegendre(5, { low: 0, high: 2 });
    expect(ninth.nodes.reduce((sum, x, i) => sum + (ninth.weights[i] ?? 0) * x ** 9, 0)).toBeCloseTo(2 ** 10 / 10, 10);
  });

  test('rootBetween finds a root and refuses a bracket without one', () => {
    expect(rootBetween((x) => x * x * x - 2, { low: 0, high: 5 })).toBeCloseTo(2 ** (1 / 3), 14);
    expect(rootBetween((x) => Math.exp(x) - 1, { low: -700, high: 3 })).toBeCloseTo(0, 14);
    expect(() => rootBetween((x) => x * x + 1, { low: -1, high: 1 })).toThrow(/change of sign/);
  });
});
