import type { Reject, RejectCode } from '../../schemas/reject.ts';
import { appendBytes, createByteWindow } from './byte-window.ts';
import { type CsvRecord, createCsvRecord, RECORD_MAX_BYTES, splitRecord } from './csv-record.ts';

/** Returned by {@link RecordReader.fast}: not a plain record, or not all of it has arrived. */
export const NOT_PLAIN = -1;

/** What reads the records that a scanner finds. */
export type RecordReader = {
  /**
   * Reads a plain record (no quotes, every field as expected) straight from the bytes.
   *
   * @returns Where the next record begins, or {@link NOT_PLAIN} without having read anything.
   */
  fast?(bytes: Uint8Array, start: number, end: number, position: number): number;
  /** Reads any record. @returns False when nothing more of this file can be read. */
  record(record: CsvRecord, bytes: Uint8Array, raw: Uint8Array, position: number): boolean;
  /** Takes a line that is no record. */
  reject(reject: Reject, raw: Uint8Array, position: number): boolean;
};

/** Cuts bytes into CSV records, wherever the chunks were cut. */
export type CsvScanner = { push(chunk: Uint8Array): void; finish(): void };

const DETAILS: { readonly [Code in RejectCode]?: string } = {
  quote_open: 'A quote is opened and not closed within 64 KiB; close it, or double it if it belongs to the text.',
  quote_misplaced: 'Text follows a closing quote; put the whole field in quotes, and double the quotes inside it.',
  line_too_long:
    'The line is longer than 64 KiB; no table of readings is, so check that the file is one and that its line ends are right.',
  encoding_unreadable: 'The line holds zero bytes, so it is no text; export the file as UTF-8 text.',
};

/**
 * A scanner for records with this delimiter.
 *
 * One bad record never takes more than its first line with it: after an open or misplaced quote, reading goes on at the
 * next line. Blank lines are passed over.
 */
export function createCsvScanner(p: { delimiter: number; skipLines: number; reader: RecordReader }): CsvScanner {
  const window = createByteWindow();
  const record = createCsvRecord();
  let line = 1;
  let isFirst = true;
  let toSkip = p.skipLines;
  let isDropping = false;
  let isStopped = false;

  const lineEnd = (isLast: boolean): number => {
    const { bytes, start, end } = window;
    let at = start;
    while (at < end && bytes[at] !== 0x0a && bytes[at] !== 0x0d) at += 1;
    if (at >= end) return isLast ? end : -1;
    if (bytes[at] !== 0x0d) return at + 1;
    if (at + 1 >= end && !isLast) return -1;
    return at + 1 < end && bytes[at + 1] === 0x0a ? at + 2 : at + 1;
  };
  const refuseLine = (code: RejectCode, end: number): void => {
    const reject = { code, field: '', detail: DETAILS[code] ?? '' };
    isStopped = !p.reader.reject(reject, window.bytes.subarray(window.start, end), line);
  };

  // Lets go of one physical line; false when its end has not arrived.
  const dropLine = (isLast: boolean): boolean => {
    const end = lineEnd(isLast);
    window.start = end < 0 ? window.end : end;
    isDropping = end < 0;
    if (!isDropping) line += 1;
    return !isDropping;
  };
  const refuseFirstLine = (code: RejectCode, isLast: boolean): void => {
    const end = lineEnd(isLast);
    refuseLine(code, end < 0 ? window.end : end);
    dropLine(isLast);
  };

  // Every outcome rests on the first 64 KiB of the record and on its whole first line, never on what has arrived beyond.
  const slowRecord = (isLast: boolean): boolean => {
    const { bytes, start } = window;
    const isFull = window.end - start > RECORD_MAX_BYTES;
    const end = isFull ? start + RECORD_MAX_BYTES + 1 : window.end;
    const outcome = splitRecord(record, { bytes, start, end, delimiter: p.delimiter, isLast: isLast && !isFull });
    if (outcome === 'incomplete' && !isFull) return false;
    if (outcome !== 'record') {
      const first = lineEnd(isLast);
      if (first < 0 && !isFull) return false;
      const isTooLong = first < 0 || first - start > RECORD_MAX_BYTES;
      refuseFirstLine(isTooLong ? 'line_too_long' : outcome === 'quote_misplaced' ? outcome : 'quote_open', isLast);
      return true;
    }
    const raw = bytes.subarray(start, record.end);
    if (raw.includes(0)) refuseLine('encoding_unreadable', record.end);
    else if (record.end > start) isStopped = !p.reader.record(record, bytes, raw, line);
    line += record.lines;
    window.start = record.next;
    return true;
  };

  const scan = (isLast: boolean): void => {
    if (isFirst) {
      if (window.end - window.start < 3 && !isLast) return;
      isFirst = false;
      const [a, b, c] = window.bytes;
      if (a === 0xef && b === 0xbb && c === 0xbf && window.end >= 3) window.start += 3;
    }
    while (window.start < window.end && !isStopped) {
      if (isDropping || toSkip > 0) {
        if (!dropLine(isLast)) continue;
        if (toSkip > 0) toSkip -= 1;
        continue;
      }
      const next = p.reader.fast?.(window.bytes, window.start, window.end, line) ?? NOT_PLAIN;
      if (next !== NOT_PLAIN) {
        window.start = next;
        line += 1;
      } else if (!slowRecord(isLast)) return;
    }
    if (isStopped) window.start = window.end;
  };
  return {
    push(chunk) {
      if (isStopped) return;
      appendBytes(window, chunk);
      scan(false);
    },
    finish: () => scan(true),
  };
}
