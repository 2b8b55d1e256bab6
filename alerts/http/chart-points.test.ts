import { describe, expect, test } from 'vitest';
import { chartPoints } from './chart-points.ts';

const part = (index: number, mean: number, expected?: number) => ({
  fromMs: index * 10,
  toMs: index * 10 + 10,
  count: 2,
  min: mean - 1,
  max: mean + 1,
  mean,
  ...(expected === undefined ? {} : { expected, sd: 2 }),
});
const span = { fromMs: 0, toMs: 60, columns: 2 };

describe('chart points', () => {
  test('a steady load shows values against what was expected', () => {
    const { points, departures } = chartPoints({
      ...span,
      fine: [part(0, 398, 400), part(1, 402, 400), part(4, 350, 400)],
    });
    expect(departures).toBe(false);
    expect(points).toMatchObject([
      { mean: 400, expected: 400, count: 4 },
      { mean: 350, expected: 400, sd: 2 },
    ]);
  });

  test('a swaying load shows departures, which it would else hide', () => {
    const { points, departures } = chartPoints({
      ...span,
      fine: [part(0, 80, 80), part(1, 90, 91), part(3, 236, 250), part(4, 238, 252)],
    });
    expect(departures).toBe(true);
    expect(points).toMatchObject([
      { mean: -0.5, expected: 0 },
      { mean: -14, expected: 0 },
    ]);
  });

  test('one part that compares unlike points does not move its column', () => {
    const { points } = chartPoints({ ...span, fine: [part(0, 99, 100), part(1, 60, 100), part(2, 99, 100)] });
    expect(points).toMatchObject([{ mean: 99 }]);
  });

  test('without an expectation the values and their extremes stay', () => {
    const { points, departures } = chartPoints({ ...span, fine: [part(0, 10), part(1, 20)] });
    expect(departures).toBe(false);
    expect(points).toEqual([{ fromMs: 0, toMs: 20, count: 4, min: 9, max: 21, mean: 15 }]);
  });
});
