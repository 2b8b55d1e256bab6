import fc from 'fast-check';
import { expect, test } from 'vitest';
import { busRule, decode } from '../../ingest/formats/decode-for-tests.ts';

const hex = (length: number) =>
  fc
    .array(fc.constantFrom(...'0123456789ABCDEF'), { minLength: length, maxLength: length })
    .map((parts) => parts.join(''));
const identifier = fc.oneof(
  fc.constantFrom('0CF00400', '18FEF600', '18FECA00', '18ECFF00', '18EBFF00', '18FEF503', '123'),
  hex(8),
);
const time = fc.nat(9_000_000).map((ms) => `(${(1_700_000_000 + ms / 1000).toFixed(6)})`);
const bytes = fc.integer({ min: 0, max: 9 }).chain((count) => hex(count * 2));
const line = fc.oneof(
  { weight: 6, arbitrary: fc.tuple(time, identifier, bytes).map(([at, id, data]) => `${at} can0 ${id}#${data}`) },
  {
    weight: 4,
    arbitrary: fc
      .tuple(time, identifier, bytes)
      .map(([at, id, data]) => ` ${at}  can1  ${id}   [${data.length / 2}]  ${(data.match(/../g) ?? []).join(' ')}`),
  },
  { weight: 1, arbitrary: fc.tuple(time, identifier).map(([at, id]) => `${at} can0 ${id}#R`) },
  { weight: 1, arbitrary: fc.string({ maxLength: 40 }).map((text) => text.replaceAll('\n', '')) },
  { weight: 1, arbitrary: fc.constantFrom('', '(', '(1)', '(0.5) can0 1#', '(1700000000.0) can0 18FEF600##0AA') },
);
const log = fc
  .array(fc.tuple(line, fc.constantFrom('\n', '\r\n')), { maxLength: 60 })
  .map(
    (lines) => `(1700000000.000000) can0 18FEF600#FF0A29FFFFFFFFFF\n${lines.map((parts) => parts.join('')).join('')}`,
  );

test('how the bytes of a bus log are cut into chunks changes nothing', () => {
  fc.assert(
    fc.property(log, fc.array(fc.nat(), { maxLength: 12 }), (text, cuts) => {
      expect(decode({ rule: busRule(), bytes: text, cuts })).toEqual(decode({ rule: busRule(), bytes: text }));
    }),
  );
});

test('every line of a bus log is a sample, carries nothing of ours, or is refused', () => {
  fc.assert(
    fc.property(log, (text) => {
      const got = decode({ rule: busRule(), bytes: text });
      const refused = Object.values(got.rejectedRows).reduce((sum, count) => sum + count, 0);
      expect(got.sampleRows + got.emptyRows + refused).toBe(got.summary.rowCount);
    }),
  );
});
