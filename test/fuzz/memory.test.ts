// Streams made to fill memory: what a decoder holds stays bounded, however long they run.
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { describe, expect, test } from 'vitest';
import { clockLimits } from '../../ingest/checks.ts';
import { createDecoder } from '../../ingest/formats/formats.ts';
import { FUZZ_UNITS, fuzzSubjects } from './subjects.ts';

/** Bytes of each stream. */
const STREAM_BYTES = 16_000_000;
const CHUNK_BYTES = 60_000;
/**
 * What a decoder may hold at the end of a stream: tables of fixed size (a J1939 reader has some megabytes), one batch,
 * one line of 64 KiB, and the names it counts. What grows with the stream would be more than the stream.
 */
const HELD_MAX_BYTES = 12_000_000;
/** A long table keeps a day of seconds open by design, for tables that are sorted by channel. */
const LONG_TABLE_MAX_BYTES = 48_000_000;

setFlagsFromString('--expose_gc');
const collect = runInNewContext('gc') as () => void;

// Freed buffers are given back in the background, so it is asked for again a little later.
async function heldBytes(): Promise<number> {
  for (let times = 0; times < 3; times += 1) {
    collect();
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return heapUsed + arrayBuffers;
}

const subjects = new Map(fuzzSubjects().map((subject) => [subject.name, subject]));
const hex = (value: number, digits: number) => value.toString(16).toUpperCase().padStart(digits, '0');
const date = (i: number) => new Date(Date.UTC(2001, 0, 1) + i * 61_000).toISOString();
const seconds = (i: number) => `(${(1_000_000_000 + i * 7).toFixed(6)})`;
/** Two thousand frames a second, as on a bus at full load. */
const busTime = (i: number) => `(${(1_000_000_000 + i * 0.0005).toFixed(6)})`;

/** What is sent, by the number of the line; none of it ever comes to an end or is said twice. */
const STREAMS: readonly (readonly [name: string, what: string, line: (i: number) => string])[] = [
  ['csv_wide', 'one line without an end', () => '1,2,3,4,5,6,7,8'],
  ['csv_wide', 'one quote that is never closed', (i) => (i === 0 ? '1,"' : 'text\n')],
  ['csv_wide', 'rows that are refused, each for its own text', (i) => `${date(i)},x${i},y${i},z${i}\n`],
  ['csv_long', 'channels without end', (i) => `"${i % 1000}";"channel ${i}";"${i}";"x"\n`],
  ['csv_long', 'seconds without end', (i) => `"${i * 5}";"Engine RPM";"800";"rpm"\n`],
  [
    'j1939_candump',
    'sessions that are announced and never sent',
    (i) => `${busTime(i)} can0 18EC${hex(i % 250, 2)}${hex(i >> 8, 2).slice(-2)}#20F906FFFFCAFE00\n`,
  ],
  ['j1939_candump', 'interfaces without end', (i) => `${busTime(i)} can${i} 18FEF600#FF32490000FFFFFF\n`],
  [
    'j1939_candump',
    'messages of every number and sender',
    (i) => `${busTime(i)} can0 ${hex((0x18000000 + i * 257) >>> 0, 8)}#0011223344556677\n`,
  ],
  [
    'n2k_frames',
    'fast packets that never end',
    (i) => `${date(i)},2,127489,${i & 0xff},255,8,${hex((i >> 3) & 0xe0, 2)},df,01,02,03,04,05,06\n`,
  ],
  [
    'n2k_frames',
    'senders, instances and sources without end',
    (i) =>
      `${date(i)},2,130312,${i & 0xff},255,8,ff,${hex((i >> 8) & 0xff, 2)},${hex((i >> 16) & 0xff, 2)},10,70,ff,ff,ff\n`,
  ],
  [
    'n2k_frames',
    'PGNs and status words without end',
    (i) =>
      i % 2 === 0
        ? `${date(i)},2,${i},1,255,1,00\n`
        : `${date(i)},2,127489,1,255,26,0b${',00'.repeat(19)},${hex(i & 0xff, 2)},${hex((i >> 8) & 0xff, 2)},${hex((i >> 16) & 0xff, 2)},00,00,00\n`,
  ],
  [
    'n2k_candump',
    'fast packets that never end',
    (i) => `${seconds(i)} can0 09F201${hex(i & 0xff, 2)}#${hex((i >> 3) & 0xe0, 2)}DF010203040506\n`,
  ],
  ['n2k_candump', 'one line without an end', () => '(0.1) can0 09F20101#6186BA042600105F '],
  [
    'signalk_delta',
    'paths and senders without end',
    (i) =>
      `{"updates":[{"timestamp":"${date(i)}","$source":"s${i}","values":[{"path":"propulsion.e${i}.revolutions","value":${i}}]}]}\n`,
  ],
  [
    'signalk_delta',
    'contexts without end',
    (i) =>
      `{"context":"vessels.${i}","updates":[{"timestamp":"${date(i)}","values":[{"path":"propulsion.1.revolutions","value":10}]}]}\n`,
  ],
  [
    'signalk_delta',
    'names of a kilobyte',
    (i) =>
      `{"context":"${'c'.repeat(1000)}${i}","updates":[{"timestamp":"${date(i)}","$source":"${'s'.repeat(1000)}${i}","values":[{"path":"${'p'.repeat(1000)}${i}","value":1}]}]}\n`,
  ],
  ['signalk_delta', 'nesting without end', () => '{"updates":['],
];

describe.each(STREAMS)('%s: %s', (name, _what, line) => {
  test('is held in bounded memory', async () => {
    const subject = subjects.get(name);
    if (subject === undefined) throw new Error(`${name} is a decoder`);
    const decoder = createDecoder({
      rule: subject.rule,
      unitIds: FUZZ_UNITS,
      clock: clockLimits(Date.UTC(2090, 0, 1)),
    });
    decoder.push(Buffer.from(subject.head === '' ? '' : `${subject.head}\n`));
    const before = await heldBytes();
    let rows = 0;
    let sent = 0;
    for (let i = 0; sent < STREAM_BYTES; ) {
      let text = '';
      for (; text.length < CHUNK_BYTES; i += 1) text += line(i);
      const bytes = Buffer.from(text);
      sent += bytes.length;
      for (const batch of decoder.push(bytes)) {
        rows += batch.emptyRows + batch.repeatedRows;
        for (const count of Object.values(batch.rejectedRows)) rows += count;
        for (const samples of batch.samples)
          rows += samples.rowCounts?.reduce((a, b) => a + b, 0) ?? samples.timesMs.length;
      }
    }
    const held = (await heldBytes()) - before;
    const { rowCount } = decoder.standing();
    console.log(
      `${name}, ${_what}: ${(sent / 1e6).toFixed(0)} MB, ${rowCount} rows; holds ${(held / 1e6).toFixed(1)} MB`,
    );
    expect(held).toBeLessThan(name === 'csv_long' ? LONG_TABLE_MAX_BYTES : HELD_MAX_BYTES);
    // Rows that no batch has yet are those that are held; the stream of lines without an end has one.
    expect(rows).toBeLessThanOrEqual(rowCount);
    expect(decoder.finish().length).toBeGreaterThan(0);
  });
});
