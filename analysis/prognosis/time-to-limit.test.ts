import { describe, expect, test } from 'vitest';
import { seededNormal } from '../../test/reference/seeded-normal.ts';
import { fitTimeLine, limitByInversion, limitBySen, limitByWald, timeToLimit } from './time-to-limit.ts';

const times = Array.from({ length: 40 }, (_, i) => 10 * i);
const question = { limit: 8, confidence: 0.9 };

/** How often the interval holds the true crossing of 2 + 0.012 t with 8 (at 500), residuals correlated as given. */
function coverage(p: { autocorrelation: number; allowedFor: number }): number {
  const normal = seededNormal(17);
  const replications = 3000;
  let held = 0;
  for (let i = 0; i < replications; i++) {
    let residual = normal();
    const values = times.map((t) => {
      const value = 2 + 0.012 * t + 0.35 * residual;
      residual = p.autocorrelation * residual + Math.sqrt(1 - p.autocorrelation ** 2) * normal();
      return value;
    });
    const found = timeToLimit({ times, values, ...question, autocorrelation: p.allowedFor });
    if (found === undefined || (found.lower <= 500 && found.upper >= 500)) held++;
  }
  return held / replications;
}

describe('timeToLimit', () => {
  // Coverage is the promise of an interval; 3000 runs have a standard error of 0.55 % at 90 %.
  test('holds the truth as often as it says on independent residuals', () => {
    expect(Math.abs(coverage({ autocorrelation: 0, allowedFor: 0 }) - 0.9)).toBeLessThan(0.022);
  });

  test.each([0.3, 0.5, 0.7])(
    'holds it about as often on residuals with an autocorrelation of %d, once that is allowed for',
    (autocorrelation) => {
      expect(coverage({ autocorrelation, allowedFor: 0 })).toBeLessThan(0.83);
      const allowed = coverage({ autocorrelation, allowedFor: autocorrelation });
      expect(allowed).toBeGreaterThan(0.86);
      // Few independent values remain: where no interval can be given the truth counts as held, so it errs on the safe side.
      expect(allowed).toBeLessThan(0.97);
    },
  );

  test('is undefined when the slope is not significant, or too little is known', () => {
    const flat = times.map((t) => Math.sin(t));
    expect(timeToLimit({ times, values: flat, ...question })).toBeUndefined();
    expect(timeToLimit({ times: [0, 1], values: [1, 2], ...question })).toBeUndefined();
    expect(
      timeToLimit({ times: [0, 1, 2, 3, 4], values: [1, 2, 3, 4, 5.1], ...question, autocorrelation: 0.9 }),
    ).toBeUndefined();
    expect(timeToLimit({ times: [3, 3, 3], values: [1, 2, 4], ...question })).toBeUndefined();
  });

  test('counts from now, below zero when the limit is passed', () => {
    const rising = { times: [0, 1, 2, 3, 4], values: [0, 1.1, 1.9, 3.1, 4], limit: 3, confidence: 0.9 };
    expect(timeToLimit(rising)?.remaining.estimate).toBeLessThan(0);
    expect(timeToLimit({ ...rising, now: 0 })?.remaining.estimate).toBeCloseTo(timeToLimit(rising)?.crossing ?? 0, 12);
  });
});

test('an unsure slope makes the inverted interval long towards late, which the symmetric one hides', () => {
  const normal = seededNormal(23);
  const line = fitTimeLine(
    times,
    times.map((t) => 2 + 0.012 * t + 1.5 * normal()),
  );
  if (line === undefined) throw new Error('the line is fitted');
  const inverted = limitByInversion(line, question);
  const wald = limitByWald(line, question);
  expect((inverted?.upper ?? 0) - (inverted?.crossing ?? 0)).toBeGreaterThan(
    (inverted?.crossing ?? 0) - (inverted?.lower ?? 0),
  );
  expect((inverted?.upper ?? 0) - (inverted?.crossing ?? 0)).toBeGreaterThan(wald?.halfWidth ?? 0);
});

test('a Theil–Sen crossing is not moved by a wild value, and is undefined without a sure slope', () => {
  const values = times.map((t, i) => 2 + 0.01 * t + (i === 30 ? 50 : 0));
  expect(limitBySen(times, values, question)?.crossing).toBeCloseTo(600, 6);
  expect(
    limitBySen(
      times,
      times.map((t) => Math.sin(t)),
      question,
    ),
  ).toBeUndefined();
});
