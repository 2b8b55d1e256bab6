import { expect, test } from 'vitest';
import { episodesOf, eventScores, fScore, sampleScores } from './detection-quality.ts';

test('episodes are the stretches of alarmed samples', () => {
  expect(episodesOf([0, 1, 2, 5, 6], [true, true, false, true, false])).toEqual([
    [0, 1],
    [5, 5],
  ]);
  expect(episodesOf([], [])).toEqual([]);
});

// Fawcett (2006): precision, recall and F from the four counts.
test('sampleScores counts, and leaves undefined what has no denominator', () => {
  const scores = sampleScores({ truth: [true, true, false, false], alarm: [true, false, true, false] });
  expect(scores).toMatchObject({ precision: 0.5, recall: 0.5, accuracy: 0.5, matthews: 0 });
  expect(fScore(scores)).toBe(0.5);
  const silent = sampleScores({ truth: [false, false], alarm: [false, false] });
  expect([silent.precision, silent.recall, silent.matthews, fScore(silent)]).toEqual([
    undefined,
    undefined,
    undefined,
    undefined,
  ]);
  expect(() => sampleScores({ truth: [true], alarm: [] })).toThrow(/alarm state/);
});

test('an alarm that stands before the fault begins has no negative delay', () => {
  expect(eventScores({ events: [[10, 20]], alarms: [[5, 12]], totalHours: 100 })).toMatchObject({
    meanDelayHours: 0,
    falseAlarms: 0,
    f1: 1,
  });
});

test('a record without a healthy hour has no false-alarm rate', () => {
  expect(eventScores({ events: [[0, 10]], alarms: [], totalHours: 10 }).falseAlarmsPer1000HealthyHours).toBeUndefined();
});
