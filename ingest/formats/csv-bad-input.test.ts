import { describe, expect, test } from 'vitest';
import { decode, wideRule } from './decode-for-tests.ts';

const HEAD = 'time,rpm,boost\n';
const row = (second: number, rest = '1200,1.5') => `2024-05-01T08:00:0${second}Z,${rest}\n`;
const accounted = (got: ReturnType<typeof decode>) =>
  got.sampleRows + got.emptyRows + got.repeatedRows + Object.values(got.rejectedRows).reduce((a, b) => a + b, 0);

/** One bad row between two good ones: [name, bad row, code, field]. */
const BAD_ROWS: readonly (readonly [string, string, string, string])[] = [
  ['too few fields', '2024-05-01T08:00:01Z,1200\n', 'field_count', ''],
  ['too many fields', row(1, '1200,1.5,9'), 'field_count', ''],
  ['no time', ',1200,1.5\n', 'field_missing', 'time'],
  ['a time without a date', '08:00:01,1200,1.5\n', 'time_unreadable', 'time'],
  ['a thirteenth month', '2024-13-01T08:00:01Z,1200,1.5\n', 'time_unreadable', 'time'],
  ['29 February of a year without one', '2023-02-29T08:00:01Z,1200,1.5\n', 'time_unreadable', 'time'],
  ['year 0', '0000-01-01T00:00:00Z,1200,1.5\n', 'clock_before_fleet', 'time'],
  ['1970, as after a lost clock', '1970-01-01T00:00:07Z,1200,1.5\n', 'clock_before_fleet', 'time'],
  ['year 9999', '9999-12-31T23:59:59Z,1200,1.5\n', 'clock_ahead', 'time'],
  ['a repeated header', HEAD, 'header_repeated', ''],
  ['zero bytes', '2024-05-01T08:00:01Z,12\0\0,1.5\n', 'encoding_unreadable', ''],
  ['bytes that are no text', '\u0001\u0002\u0003\u0004\n', 'field_count', ''],
  ['text after a closing quote', '2024-05-01T08:00:01Z,"1200"x,1.5\n', 'quote_misplaced', ''],
  ['an open quote', '2024-05-01T08:00:01Z,"1200,1.5\n', 'quote_open', ''],
];

test.each(BAD_ROWS)('a row with %s is refused alone', (_, bad, code, field) => {
  const got = decode({ rule: wideRule(), bytes: HEAD + row(0) + bad + row(2) });
  expect(got.rows.map((item) => item.timeMs)).toEqual([Date.UTC(2024, 4, 1, 8, 0, 0), Date.UTC(2024, 4, 1, 8, 0, 2)]);
  expect(got.rejectedRows).toEqual({ [code]: 1 });
  expect(got.rejects[0]).toMatchObject({ position: 3, extent: 'row', unit: 'truck-1', reject: { code, field } });
  expect(got.rejects[0]?.reject.detail).toMatch(/^[A-Z"].{20,}\.$/);
  expect(got.summary.rowCount).toBe(3);
});

/** One bad value; the row's other value stays. */
const BAD_VALUES: readonly (readonly [string, string])[] = [
  ['1e999', 'number_unreadable'],
  ['NaN', 'number_unreadable'],
  ['Infinity', 'number_unreadable'],
  ['0x10', 'number_unreadable'],
  ['1,200', 'number_unreadable'],
  ['12O0', 'number_unreadable'],
  ['1.2.3', 'number_unreadable'],
  ['-', 'number_unreadable'],
  ['.', 'number_unreadable'],
  ['99999', 'value_out_of_range'],
  ['-5', 'value_out_of_range'],
];

test.each(BAD_VALUES)('%s is refused and the other value of its row stays', (text, code) => {
  const got = decode({
    rule: wideRule(),
    bytes: HEAD + row(0, `"${text}",1.5`) + row(1, `${text.replace(',', ' ')},1.5`),
  });
  expect(got.rows.map((item) => item.values)).toEqual([{ boostPressure: 150 }, { boostPressure: 150 }]);
  expect(got.rejectedValues).toEqual({ [code]: 2 });
  expect(got.rejectedRows).toEqual({});
  expect(got.rejects[0]?.raw).toContain(text);
});

test('-0 is 0', () => {
  const got = decode({ rule: wideRule(), bytes: HEAD + row(0, '-0,-0.0') + row(1, '"-0",-0e5') });
  for (const item of got.rows)
    expect(Object.is(item.values.engineSpeed, 0) && Object.is(item.values.boostPressure, 0)).toBe(true);
  expect(got.rows.length).toBe(2);
});

test('a line of a million characters is refused, is never held whole, and reading goes on behind it', () => {
  const long = 'x'.repeat(1_000_000);
  const got = decode({ rule: wideRule(), bytes: `${HEAD}${row(0)}${long}\n${row(2)}`, cuts: [100, 70_000, 400_000] });
  expect(got.rows.length).toBe(2);
  expect(got.rejectedRows).toEqual({ line_too_long: 1 });
  expect(got.rejects[0]?.raw.length).toBe(2000);
});

test('an open quote takes one line with it, not the file', () => {
  const rows = Array.from(
    { length: 3000 },
    (_, i) => `${new Date(Date.UTC(2024, 4, 1) + i * 1000).toISOString()},1200,1.5\n`,
  );
  rows[10] = '2024-05-01T00:00:10Z,"1200,1.5\n';
  const got = decode({ rule: wideRule(), bytes: HEAD + rows.join('') });
  expect(got.rows.length).toBe(2999);
  expect(got.rejectedRows).toEqual({ quote_open: 1 });
});

test('line ends may be mixed, and blank lines are passed over', () => {
  const [a, b, c, d] = [0, 1, 2, 3].map((second) => row(second).trimEnd());
  const got = decode({ rule: wideRule(), bytes: `\uFEFFtime,rpm,boost\r\n${a}\r${b}\n\n\r\n${c}\r\n${d}` });
  expect(got.rows.length).toBe(4);
  expect(got.summary.rowCount).toBe(4);
});

test('so many refusals are kept verbatim, the rest is counted', () => {
  const got = decode({ rule: wideRule(), bytes: HEAD + 'x\n'.repeat(25_000) });
  expect(got.rejectedRows).toEqual({ field_count: 25_000 });
  expect(got.rejects.length).toBe(10_000);
});

describe('a file that cannot be read with its rule says why, once', () => {
  const CASES: readonly (readonly [string, string, ReturnType<typeof wideRule>, string])[] = [
    ['an empty file', '', wideRule(), 'header_missing'],
    ['only lines to skip', 'a\nb\n', wideRule({ skipLines: 5 }), 'header_missing'],
    ['no time column', 'zeit,rpm,boost\n1,2,3\n', wideRule(), 'column_missing'],
    ['the wrong delimiter', HEAD.replaceAll(',', ';') + row(0), wideRule(), 'column_missing'],
    ['the time column twice', `time,time,rpm\n${row(0)}`, wideRule(), 'column_repeated'],
    ['no signal column', `time,a,b\n${row(0)}`, wideRule(), 'column_missing'],
    [
      'a zone that is none',
      HEAD + row(0),
      wideRule({ time: { column: 'time', format: 'iso8601', timeZone: 'Mars/Crater' } }),
      'zone_unknown',
    ],
    [
      'a pattern without a day',
      HEAD + row(0),
      wideRule({ time: { column: 'time', format: 'YYYY-MM HH:mm' } }),
      'time_unreadable',
    ],
    [
      'only units that are none',
      HEAD + row(0),
      wideRule({ columns: { engineSpeed: { column: 'rpm', unit: 'furlong' } } }),
      'unit_unknown',
    ],
    ['bytes of UTF-16', '\u00ff\u00fet\0i\0', wideRule(), 'encoding_unreadable'],
  ];
  test.each(CASES)('%s', (_, text, rule, code) => {
    const bytes = text.startsWith('\u00ff') ? Uint8Array.from(text, (character) => character.charCodeAt(0)) : text;
    const got = decode({ rule, bytes });
    expect(got.rows).toEqual([]);
    expect(got.rejectedRows).toEqual({ [code]: 1 });
    expect(got.summary.problem?.code).toBe(code);
    expect(accounted(got)).toBe(got.summary.rowCount);
  });
});

test('a column that cannot be read leaves the others alone', () => {
  const columns = {
    engineSpeed: { column: 'rpm', unit: 'rpm' },
    boostPressure: { column: 'boost', unit: 'degC' },
    oilPressure: { column: 'oil', unit: 'bar', reference: 'absolute' as const },
    fuelRate: { column: 'fuel' },
  };
  const got = decode({ rule: wideRule({ columns }), bytes: `time,rpm,boost,oil\n${row(0, '1200,1.5,4')}` });
  expect(got.rows[0]?.values).toEqual({ engineSpeed: 1200 });
  expect(got.rejectedValues).toEqual({ unit_unknown: 1, reference_unusable: 1, column_missing: 1 });
});

test('a signal column that stands twice is not read, for it cannot be told which is meant', () => {
  const got = decode({ rule: wideRule(), bytes: `time,rpm,boost,boost\n${row(0, '1200,1.5,1.6')}` });
  expect(got.rows[0]?.values).toEqual({ engineSpeed: 1200 });
  expect(got.rejectedValues).toEqual({ column_repeated: 1 });
});

test('a row of a unit that the fleet does not have is refused', () => {
  const { unit: _, ...rule } = wideRule({ unitColumn: 'unit' });
  const got = decode({
    rule,
    bytes: `time,rpm,boost,unit\n${row(0, '1200,1.5,truck-2')}${row(1, '1200,1.5,truck-9')}${row(2, '1200,1.5,truck-1')}`,
  });
  expect(got.rows.map((item) => item.unit)).toEqual(['truck-2', 'truck-1']);
  expect(got.rejectedRows).toEqual({ unit_not_in_fleet: 1 });
});
