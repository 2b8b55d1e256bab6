// Oracle for RFC 4180: csv-parse, a general-purpose reader. Numbers: JavaScript's own Number(), which ECMA-262 has round
// correctly.
import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createCsvRecord, fieldBytes, splitRecord } from '../../ingest/formats/csv-record.ts';
import { readDecimal } from '../../ingest/formats/decimal.ts';
import { decode, wideRule } from '../../ingest/formats/decode-for-tests.ts';
import { utf8Text } from '../../ingest/formats/raw-text.ts';

/** Splits a whole text with our splitter; `undefined` when it finds the text to break the rules. */
function split(text: string): string[][] | undefined {
  const body = new TextEncoder().encode(text);
  const bytes = new Uint8Array(body.length + 1);
  bytes.set(body);
  const record = createCsvRecord();
  const rows: string[][] = [];
  for (let start = 0; start < body.length; start = record.next) {
    if (splitRecord(record, { bytes, start, end: body.length, delimiter: 0x2c, isLast: true }) !== 'record')
      return undefined;
    rows.push(Array.from({ length: record.count }, (_, i) => utf8Text(fieldBytes(record, bytes, i)) ?? '?'));
  }
  return rows;
}

const field = fc
  .array(fc.constantFrom('a', '1', '"', ',', '\n', '\r\n', ' ', 'é', '℃', ';'), { maxLength: 8 })
  .map((parts) => parts.join(''));
const quoted = (text: string) => `"${text.replaceAll('"', '""')}"`;
const written = (text: string) => (/[",\r\n]/.test(text) ? quoted(text) : text);

test('fields written as RFC 4180 says are read as csv-parse reads them', () => {
  fc.assert(
    fc.property(
      fc.array(fc.array(field, { minLength: 2, maxLength: 4 }), { minLength: 1, maxLength: 6 }),
      fc.constantFrom('\n', '\r\n'),
      fc.boolean(),
      (rows, lineEnd, endsOpen) => {
        const text = rows.map((row) => row.map(written).join(',')).join(lineEnd) + (endsOpen ? '' : lineEnd);
        const oracle = parse(text, { relax_column_count: true, record_delimiter: lineEnd }) as string[][];
        expect(split(text)).toEqual(oracle);
        expect(oracle).toEqual(rows);
      },
    ),
  );
});

test('text that breaks the rules of quoting is refused where csv-parse refuses it', () => {
  for (const text of ['"a', '"a"b,c\n', 'a,"b\nc,d\n', '"a" ,b\n']) {
    expect(() => parse(text)).toThrow();
    expect(split(text)).toBeUndefined();
  }
});

test('a decimal number read from bytes is the one that Number() reads', () => {
  const digits = fc
    .array(fc.constantFrom(...'0123456789'), { minLength: 1, maxLength: 20 })
    .map((parts) => parts.join(''));
  const number = fc.tuple(
    fc.constantFrom('', '-', '+'),
    digits,
    fc.option(digits),
    fc.option(fc.integer({ min: -30, max: 30 })),
  );
  fc.assert(
    fc.property(number, ([sign, whole, fraction, exponent]) => {
      const text = `${sign}${whole}${fraction === null ? '' : `.${fraction}`}${exponent === null ? '' : `e${exponent}`}`;
      const bytes = new TextEncoder().encode(text);
      expect(readDecimal(bytes, 0, bytes.length, '.')).toBe(Number(text) + 0);
    }),
    { numRuns: 1000 },
  );
});

const oddField = fc.constantFrom(
  '1200',
  '1200.25',
  '-0',
  '',
  '1e3',
  'NaN',
  '"900"',
  '"9""0"',
  'x',
  ' 7 ',
  '"',
  '1,2',
  '\0',
  '"\n"',
  '99999',
  '1200.1234567890123',
);
const oddTime = fc.oneof(
  fc.integer({ min: 0, max: 59 }).map((second) => `2024-05-01T08:00:${String(second).padStart(2, '0')}Z`),
  fc.constantFrom(
    '',
    '1970-01-01T00:00:00Z',
    '9999-01-01T00:00:00Z',
    'time',
    '2024-05-01 08:00:00',
    '"2024-05-01T08:00:03Z"',
  ),
);
const table = fc
  .array(fc.tuple(oddTime, oddField, oddField, fc.constantFrom('\n', '\r\n', '\r', '\n\n')), { maxLength: 30 })
  .map((rows) => `time,rpm,boost\n${rows.map(([time, rpm, boost, end]) => `${time},${rpm},${boost}${end}`).join('')}`);

test('how the bytes of a table are cut into chunks changes nothing', () => {
  fc.assert(
    fc.property(table, fc.array(fc.nat(), { maxLength: 12 }), (text, cuts) => {
      expect(decode({ rule: wideRule(), bytes: text, cuts })).toEqual(decode({ rule: wideRule(), bytes: text }));
    }),
  );
});

test('a table cut into single bytes reads as in one piece', () => {
  fc.assert(
    fc.property(table, (text) => {
      const cuts = Array.from({ length: new TextEncoder().encode(text).length }, (_, i) => i);
      expect(decode({ rule: wideRule(), bytes: text, cuts })).toEqual(decode({ rule: wideRule(), bytes: text }));
    }),
    { numRuns: 30 },
  );
});

test('every row of a table is a sample or refused', () => {
  fc.assert(
    fc.property(table, (text) => {
      const got = decode({ rule: wideRule(), bytes: text });
      const refused = Object.values(got.rejectedRows).reduce((sum, count) => sum + count, 0);
      expect(got.sampleRows + refused).toBe(got.summary.rowCount);
    }),
  );
});

test('the fast way through plain rows and the way through quoted ones read the same', () => {
  const value = fc.oneof(
    fc.double({ min: 0, max: 4000, noNaN: true }).map((number) => number.toFixed(3)),
    fc.constantFrom('', '0', '-1', '5001'),
  );
  fc.assert(
    fc.property(fc.array(fc.tuple(fc.nat(86_399), value, value), { maxLength: 20 }), (rows) => {
      const time = (second: number) => new Date(Date.UTC(2024, 4, 1) + second * 1000).toISOString();
      const plain = rows.map(([second, rpm, boost]) => `${time(second)},${rpm},${boost}\n`).join('');
      const inQuotes = rows.map(([second, rpm, boost]) => `"${time(second)}","${rpm}","${boost}"\n`).join('');
      const got = decode({ rule: wideRule(), bytes: `time,rpm,boost\n${plain}` });
      const slow = decode({ rule: wideRule(), bytes: `time,rpm,boost\n${inQuotes}` });
      expect(got.rows).toEqual(slow.rows);
      expect(got.rejectedValues).toEqual(slow.rejectedValues);
    }),
  );
});
