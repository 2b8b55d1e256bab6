import { describe, expect, test } from 'vitest';
import { decode, wideRule } from './decode-for-tests.ts';

const times = (format: string, texts: readonly string[], more: { timeZone?: string; startsAt?: string } = {}) =>
  decode({
    rule: wideRule({ delimiter: ';', time: { column: 'time', format, ...more } }),
    bytes: `time;rpm;boost\n${texts.map((text) => `${text};1200;1\n`).join('')}`,
  });
const read = (format: string, text: string, more: { timeZone?: string; startsAt?: string } = {}) =>
  times(format, [text], more).rows[0]?.timeMs;

// Expected instants from Date.UTC and Date.parse: ECMA-262 time, another implementation of the same calendar.
describe('ISO 8601', () => {
  test.each([
    '2024-02-29T23:59:59.999Z',
    '2024-03-31T02:30:00+01:00',
    '2000-02-29T00:00:00.5-03:30',
    '2016-12-31T12:00Z',
    '2024-05-01 08:00:00Z',
  ])('%s', (text) => {
    expect(read('iso8601', text)).toBe(Date.parse(text));
  });
  test('an offset may lack its colon or its minutes', () => {
    expect(read('iso8601', '2024-05-01T08:00:00+0200')).toBe(Date.UTC(2024, 4, 1, 6));
    expect(read('iso8601', '2024-05-01T08:00:00-05')).toBe(Date.UTC(2024, 4, 1, 13));
  });
  test('a leap second is the first instant of the next minute', () => {
    expect(read('iso8601', '2016-12-31T23:59:60Z')).toBe(Date.UTC(2017, 0, 1));
  });
  test('a time without an offset is UTC unless a zone is stated', () => {
    expect(read('iso8601', '2024-07-01T08:00:00')).toBe(Date.UTC(2024, 6, 1, 8));
    expect(read('iso8601', '2024-07-01T08:00:00', { timeZone: 'Europe/Berlin' })).toBe(Date.UTC(2024, 6, 1, 6));
  });
  test.each([
    '2024-5-1T08:00:00Z',
    '2024-05-01',
    '20240501T080000Z',
    '2024-05-01T24:00:00Z',
    '2024-05-01T08:60:00Z',
    '2024-05-01T08:00:00+25:00',
    '2024-05-01T08:00:00Zx',
    '2024-05-01T08:00:00.Z',
  ])('%s is refused', (text) => expect(times('iso8601', [text]).rejectedRows).toEqual({ time_unreadable: 1 }));
});

test('epoch times are read to the millisecond', () => {
  expect(read('epoch_seconds', '1589326646.631333')).toBe(1_589_326_646_631);
  expect(read('epoch_milliseconds', '1589326646631')).toBe(1_589_326_646_631);
});

test('seconds since the start are added to it', () => {
  expect(read('seconds_since_start', '216.2510685', { startsAt: '2019-03-05T22:17:15+01:00' })).toBe(
    Date.UTC(2019, 2, 5, 21, 20, 51, 251),
  );
});

test('a pattern is read in its zone', () => {
  expect(read('DD.MM.YYYY HH:mm:ss', '31.12.2023 23:59:58', { timeZone: 'Asia/Kolkata' })).toBe(
    Date.UTC(2023, 11, 31, 18, 29, 58),
  );
  expect(read('YYYYMMDD-HHmmssSSS', '20240501-080001250')).toBe(Date.UTC(2024, 4, 1, 8, 0, 1, 250));
  expect(times('DD.MM.YYYY HH:mm:ss', ['2024-05-01 08:00:00']).rejectedRows).toEqual({ time_unreadable: 1 });
});

// Central European Time: clocks go forward on the last Sunday of March at 01:00 UTC and back on that of October
// (Directive 2000/84/EC, articles 2 and 3): in 2024 on 31 March and 27 October.
describe('when the clocks change', () => {
  const timeZone = 'Europe/Berlin';
  test('a local time that never was is refused', () => {
    const got = times('DD.MM.YYYY HH:mm', ['31.03.2024 01:59', '31.03.2024 02:30', '31.03.2024 03:00'], { timeZone });
    expect(got.rows.map((row) => row.timeMs)).toEqual([Date.UTC(2024, 2, 31, 0, 59), Date.UTC(2024, 2, 31, 1, 0)]);
    expect(got.rejectedRows).toEqual({ time_skipped: 1 });
  });
  test('a local time that was twice is read as running on, and counted', () => {
    const texts = [
      '27.10.2024 01:59',
      '27.10.2024 02:00',
      '27.10.2024 02:59',
      '27.10.2024 02:00',
      '27.10.2024 02:59',
      '27.10.2024 03:00',
    ];
    const got = times('DD.MM.YYYY HH:mm', texts, { timeZone });
    const hours = [
      [23, 59],
      [24, 0],
      [24, 59],
      [25, 0],
      [25, 59],
      [26, 0],
    ] as const;
    expect(got.rows.map((row) => row.timeMs)).toEqual(
      hours.map(([hour, minute]) => Date.UTC(2024, 9, 26, hour, minute)),
    );
    expect(got.summary.repeatedTimes).toBe(4);
  });
});
