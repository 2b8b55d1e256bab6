import { type ByteReader, type ByteWriter, need, readByte, reserve, unreadable, writeByte } from '../bytes.ts';
import { MAX_SCALED, readScaled } from './column-codec.ts';

// Layouts of a row of times: bare doubles, or the first one and then how the step from each to the next changes.
const RAW = 1;
const EVEN = 2;

/** Appends times: usually evenly spaced, so differences of differences are mostly one byte. */
export function writeTimes(writer: ByteWriter, times: readonly number[]): void {
  const count = times.length;
  reserve(writer, 9 + count * 8);
  const { bytes } = writer;
  const headAt = writer.at;
  const first = times[0] ?? 0;
  let at = headAt + 9;
  let previous = first;
  let step = 0;
  let even = count > 0 && Number.isSafeInteger(first);
  for (let i = 1; even && i < count; i += 1) {
    const time = times[i] ?? 0;
    const difference = time - previous;
    const narrow = difference | 0;
    even = narrow === difference && narrow <= MAX_SCALED && narrow >= -MAX_SCALED;
    even &&= Number.isSafeInteger(time) && !Object.is(time, -0);
    const change = narrow - step;
    previous = time;
    step = narrow;
    let rest = ((change << 1) ^ (change >> 31)) >>> 0;
    while (rest >= 0x80) {
      bytes[at++] = (rest & 0x7f) | 0x80;
      rest >>>= 7;
    }
    bytes[at++] = rest;
  }
  writer.at = headAt;
  writeByte(writer, even ? EVEN : RAW);
  if (even) {
    writer.view.setFloat64(headAt + 1, first, true);
    writer.at = at;
    return;
  }
  for (let i = 0; i < count; i += 1) writer.view.setFloat64(headAt + 1 + i * 8, times[i] ?? 0, true);
  writer.at = headAt + 1 + count * 8;
}

/**
 * Reads `count` times.
 *
 * @throws PortError `record_unreadable` when the bytes are none of {@link writeTimes}.
 */
export function readTimes(reader: ByteReader, count: number): number[] {
  const layout = readByte(reader);
  const times: number[] = [];
  if (layout === RAW) {
    need(reader, count * 8);
    for (let i = 0; i < count; i += 1) times.push(reader.view.getFloat64(reader.at + i * 8, true));
    reader.at += count * 8;
    return times;
  }
  if (layout !== EVEN || count === 0) throw unreadable(reader, `its times have the unknown layout ${layout}`);
  need(reader, 8 + count - 1);
  let time = reader.view.getFloat64(reader.at, true);
  reader.at += 8;
  times.push(time);
  for (const step of readScaled(reader, count - 1, 1)) {
    time += step;
    times.push(time);
  }
  return times;
}
