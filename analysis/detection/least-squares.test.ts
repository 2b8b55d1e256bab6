import * as simple from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import { leastSquares, predict, predictionInterval } from './least-squares.ts';

describe('leastSquares', () => {
  test('agrees with a second library on a straight line', () => {
    const points = [
      [1, 2.1],
      [2, 3.9],
      [4, 8.3],
      [7, 13.6],
      [11, 22.4],
    ];
    const fit = leastSquares({ rows: points.map(([x = 0]) => [x]), responses: points.map(([, y = 0]) => y) });
    const { m, b } = simple.linearRegression(points);
    expect(fit?.coefficients[0]).toBeCloseTo(b, 12);
    expect(fit?.coefficients[1]).toBeCloseTo(m, 12);
    expect(fit?.rSquared).toBeCloseTo(
      simple.rSquared(points, (x) => m * x + b),
      12,
    );
  });

  test('is undefined without a spare row, and with predictors that depend on each other', () => {
    expect(leastSquares({ rows: [[1], [2]], responses: [1, 2] })).toBeUndefined();
    expect(leastSquares({ rows: [[3], [3], [3], [3]], responses: [1, 2, 3, 4] })).toBeUndefined();
    expect(leastSquares({ rows: [], responses: [] })).toBeUndefined();
  });

  test('a weight of 2 counts as the row twice, and one of 0 not at all', () => {
    const rows = [[1], [2], [3], [5], [8]];
    const responses = [1.2, 1.9, 3.4, 4.8, 8.3];
    const weighted = leastSquares({ rows, responses, weights: [2, 1, 1, 0, 1] });
    const repeated = leastSquares({ rows: [[1], [1], [2], [3], [8]], responses: [1.2, 1.2, 1.9, 3.4, 8.3] });
    for (const i of [0, 1]) expect(weighted?.coefficients[i]).toBeCloseTo(repeated?.coefficients[i] ?? Number.NaN, 12);
    expect(weighted?.degreesOfFreedom).toBe(2);
  });

  test('rSquared is undefined when the response does not vary', () => {
    expect(leastSquares({ rows: [[1], [2], [3]], responses: [4, 4, 4] })?.rSquared).toBeUndefined();
  });
});

describe('predict', () => {
  // Textbook formula of a straight line: s^2 (1/n + (x - mean)^2 / Sxx), e.g. Draper & Smith, section 3.1.
  test('has the standard error of a straight line, least at the mean of the data', () => {
    const fit = leastSquares({ rows: [[1], [2], [3], [4], [5]], responses: [1.1, 1.9, 3.2, 3.8, 5.1] });
    if (fit === undefined) throw new Error('the line is fitted');
    const error = (x: number) => fit.residualSd * Math.sqrt(1 / 5 + (x - 3) ** 2 / 10);
    for (const x of [0, 3, 9]) {
      const { meanStandardError, predictionStandardError } = predict(fit, [x]);
      expect(meanStandardError).toBeCloseTo(error(x), 12);
      expect(predictionStandardError).toBeCloseTo(Math.hypot(error(x), fit.residualSd), 12);
    }
    const { meanInterval, observationInterval } = predictionInterval(fit, { row: [3], confidence: 0.9 });
    expect(observationInterval[0]).toBeLessThan(meanInterval[0]);
    expect(observationInterval[1]).toBeGreaterThan(meanInterval[1]);
  });

  test('refuses a row of another length', () => {
    const fit = leastSquares({ rows: [[1], [2], [3]], responses: [1, 2, 4] });
    if (fit === undefined) throw new Error('the line is fitted');
    expect(() => predict(fit, [1, 2])).toThrow(/length/);
  });
});
