import { expect, test } from 'vitest';
import { withIsoTimes } from './iso-times.ts';

// 86,400 s a day: ISO 8601 and POSIX.1 "seconds since the Epoch".
test('times become ISO 8601 at every depth and lose their unit', () => {
  const record = { sinceMs: 86_400_000, history: [{ atMs: 1, what: 'opened' }] };
  expect(withIsoTimes(record)).toEqual({
    since: '1970-01-02T00:00:00.000Z',
    history: [{ at: '1970-01-01T00:00:00.001Z', what: 'opened' }],
  });
});

test('nothing but times is changed', () => {
  const record = { unit: 'truck-07', items: [1, 'Ms', null, true], Ms: 'text' };
  expect(withIsoTimes(record)).toEqual(record);
});
