import type { Reject } from '../../schemas/reject.ts';
import { BATCH_REJECTS, BATCH_ROWS, type DecodedBatch, type Decoder, type DecodeSummary } from './decoder.ts';
import { createLineScanner } from './line-scanner.ts';
import { createRejectCollector } from './reject-collector.ts';

const LINE_TOO_LONG: Reject = {
  code: 'line_too_long',
  field: '',
  detail:
    'The line is longer than 64 KiB; no message is, so check that the file is such a log and that its line ends are right.',
};

/** What became of a line. `comment` is no row; `stop` refuses the line and leaves the rest of the file alone. */
export type LineOutcome =
  | { readonly kind: 'taken' }
  | { readonly kind: 'comment' }
  | { readonly kind: 'refused' | 'stop'; readonly reject: Reject };

export const TAKEN: LineOutcome = { kind: 'taken' };
export const COMMENT: LineOutcome = { kind: 'comment' };

/** Refuses a line. */
export function refused(reject: Reject): LineOutcome {
  return { kind: 'refused', reject };
}

/** Reads the lines of one kind of log. */
export type LogReader = {
  /**
   * Reads one line, without the blanks at its end; `bytes[end]` is readable and no more than a blank.
   *
   * @param refuseValue - Says that one value of the line is refused while the others stand.
   */
  line(bytes: Uint8Array, start: number, end: number, refuseValue: (reject: Reject) => void): LineOutcome;
  /** Whether it holds so much that a batch is to be taken. */
  isFull(): boolean;
  take(isLast: boolean): Pick<DecodedBatch, 'samples' | 'emptyRows'>;
  summary(): Omit<DecodeSummary, 'rowCount' | 'problem'>;
};

/**
 * A decoder around a reader of lines: every line but blank ones and comments is a row, which is taken or refused.
 *
 * @param p.unit - Whose the file is, where it is all of one unit; for the dead letters.
 */
export function createLineDecoder(p: { reader: LogReader; unit: string | undefined }): Decoder {
  const rejects = createRejectCollector();
  let rows = 0;
  let batchRows = 0;
  let problem: Reject | undefined;
  let batches: DecodedBatch[] = [];
  // Where the line lies; a view of it is made for a refusal only.
  let current: { bytes: Uint8Array; start: number; end: number } = { bytes: new Uint8Array(), start: 0, end: 0 };
  const placed = (reject: Reject) => ({
    reject,
    position: rows,
    raw: current.bytes.subarray(current.start, current.end),
    unit: p.unit,
  });
  const refuseValue = (reject: Reject) => rejects.value(placed(reject));
  const cut = (isLast: boolean): void => {
    batches.push({ ...p.reader.take(isLast), repeatedRows: 0, ...rejects.take() });
    batchRows = 0;
  };
  const cutWhenFull = (): void => {
    if (batchRows >= BATCH_ROWS || rejects.pending >= BATCH_REJECTS || p.reader.isFull()) cut(false);
  };
  const countRow = (): void => {
    rows += 1;
    batchRows += 1;
  };
  const scanner = createLineScanner({
    line(bytes, start, lineEnd) {
      let end = lineEnd;
      while ((bytes[end - 1] as number) <= 0x20) end -= 1;
      current = { bytes, start, end };
      countRow();
      const outcome = p.reader.line(bytes, start, end, refuseValue);
      if (outcome.kind === 'comment') {
        rows -= 1;
        batchRows -= 1;
      } else if (outcome.kind !== 'taken') {
        rejects.row(placed(outcome.reject));
        if (outcome.kind === 'stop') problem = outcome.reject;
      }
      cutWhenFull();
    },
    tooLong(bytes, start, end) {
      current = { bytes, start, end };
      countRow();
      rejects.row(placed(LINE_TOO_LONG));
      cutWhenFull();
    },
    isStopped: () => problem !== undefined,
  });
  const given = (): DecodedBatch[] => {
    const done = batches;
    batches = [];
    return done;
  };
  const standing = () => (problem === undefined ? { rowCount: rows } : { rowCount: rows, problem });
  return {
    push(bytes) {
      scanner.push(bytes);
      return given();
    },
    finish() {
      scanner.finish();
      cut(true);
      return given();
    },
    flush() {
      cut(true);
      return given();
    },
    standing,
    summary: () => ({ ...standing(), ...p.reader.summary() }),
  };
}
