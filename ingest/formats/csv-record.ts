/** Longest record, and so the most that one bad quote or missing line end can take with it. */
export const RECORD_MAX_BYTES = 65_536;

const QUOTE = 0x22;
const LF = 0x0a;
const CR = 0x0d;

/**
 * One record of a CSV table, split into its fields as RFC 4180 describes. Reused from record to record: a field is the
 * bytes from `starts[i]` to `ends[i]`, without its quotes.
 */
export type CsvRecord = {
  count: number;
  starts: Int32Array;
  ends: Int32Array;
  /** Whether the field holds doubled quotes, which {@link fieldBytes} makes single. */
  doubled: Uint8Array;
  /** First byte after the record and its line end. */
  next: number;
  /** Physical lines that the record takes; more than one when quotes hold line ends. */
  lines: number;
  /** One past the last byte of the record, without its line end. */
  end: number;
};

/** `incomplete`: more bytes are needed. `quote_open`: quotes are not closed. `quote_misplaced`: text follows closing quotes. */
export type SplitOutcome = 'record' | 'incomplete' | 'quote_open' | 'quote_misplaced';

/** A record to be filled by {@link splitRecord}. */
export function createCsvRecord(): CsvRecord {
  return {
    count: 0,
    starts: new Int32Array(64),
    ends: new Int32Array(64),
    doubled: new Uint8Array(64),
    next: 0,
    lines: 0,
    end: 0,
  };
}

/**
 * Splits the record at `start`. LF, CRLF and CR end a record, mixed as they come. Quotes inside a field that does not
 * begin with one stand for themselves, as most programs read them.
 *
 * @param p.bytes - Readable, and no line end, at `p.end`.
 * @param p.isLast - Whether no more bytes will come, so the end of the bytes ends the record.
 */
export function splitRecord(
  into: CsvRecord,
  p: { bytes: Uint8Array; start: number; end: number; delimiter: number; isLast: boolean },
): SplitOutcome {
  const { bytes, delimiter, end } = p;
  let at = p.start;
  into.count = 0;
  into.lines = 1;
  for (;;) {
    let fieldStart = at;
    let fieldEnd: number;
    let doubled = 0;
    if (at < end && bytes[at] === QUOTE) {
      fieldStart += 1;
      at += 1;
      for (;;) {
        if (at >= end) return p.isLast ? 'quote_open' : 'incomplete';
        const byte = bytes[at];
        if (byte === QUOTE) {
          if (at + 1 >= end && !p.isLast) return 'incomplete';
          if (at + 1 >= end || bytes[at + 1] !== QUOTE) break;
          doubled = 1;
          at += 2;
          continue;
        }
        if (byte === LF || (byte === CR && bytes[at + 1] !== LF)) into.lines += 1;
        at += 1;
      }
      fieldEnd = at;
      at += 1;
    } else {
      while (at < end && bytes[at] !== delimiter && bytes[at] !== LF && bytes[at] !== CR) at += 1;
      fieldEnd = at;
    }
    pushField(into, { start: fieldStart, end: fieldEnd, doubled });
    if (at >= end) {
      if (!p.isLast) return 'incomplete';
      into.end = end;
      into.next = end;
      return 'record';
    }
    const byte = bytes[at];
    if (byte === delimiter) {
      at += 1;
      continue;
    }
    if (byte !== LF && byte !== CR) return 'quote_misplaced';
    if (byte === CR && at + 1 >= end && !p.isLast) return 'incomplete';
    into.end = at;
    into.next = byte === CR && at + 1 < end && bytes[at + 1] === LF ? at + 2 : at + 1;
    return 'record';
  }
}

/** The bytes of a field, doubled quotes made single. */
export function fieldBytes(record: CsvRecord, bytes: Uint8Array, index: number): Uint8Array {
  const plain = bytes.subarray(record.starts[index], record.ends[index]);
  if (record.doubled[index] !== 1) return plain;
  let before = false;
  return plain.filter((byte) => {
    const drop = byte === QUOTE && before;
    before = byte === QUOTE && !drop;
    return !drop;
  });
}

function pushField(into: CsvRecord, field: { start: number; end: number; doubled: number }): void {
  if (into.count === into.starts.length) {
    into.starts = grown(into.starts, new Int32Array(into.count * 2));
    into.ends = grown(into.ends, new Int32Array(into.count * 2));
    into.doubled = grown(into.doubled, new Uint8Array(into.count * 2));
  }
  into.starts[into.count] = field.start;
  into.ends[into.count] = field.end;
  into.doubled[into.count] = field.doubled;
  into.count += 1;
}

function grown<T extends Int32Array | Uint8Array>(from: T, to: T): T {
  to.set(from);
  return to;
}
