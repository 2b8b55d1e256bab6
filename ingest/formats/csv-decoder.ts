import { type Reject, refuse } from '../../schemas/reject.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import type { CsvRule } from '../../schemas/source-rule.ts';
import { type ClockLimits, clockReject } from '../checks.ts';
import { type CsvLayout, headerTexts, layOutColumns } from './csv-layout.ts';
import { type CsvRecord, fieldBytes } from './csv-record.ts';
import { createCsvScanner } from './csv-scanner.ts';
import { readDecimal } from './decimal.ts';
import { BATCH_REJECTS, type DecodeContext, type DecodedBatch, type Decoder } from './decoder.ts';
import { rawText, utf8Text } from './raw-text.ts';
import { createRejectCollector, type RejectCollector } from './reject-collector.ts';
import type { RunningStatistics } from './running-statistics.ts';
import { createTimeReader, type TimeReader } from './time-reader.ts';
import { createUnitIds, type UnitIds } from './unit-ids.ts';

/** What the readers of wide and long rows share. */
export type CsvTable = {
  readonly rule: CsvRule;
  readonly delimiter: number;
  readonly clock: ClockLimits;
  readonly time: TimeReader;
  readonly units: UnitIds;
  readonly rejects: RejectCollector;
  readonly statistics: Map<SignalKey, RunningStatistics>;
  countRow(): void;
  /** Number of fields, time and unit of a row; `undefined` when the row was refused. */
  readHead(p: {
    record: CsvRecord;
    bytes: Uint8Array;
    raw: Uint8Array;
    position: number;
    layout: CsvLayout;
  }): RowHead | undefined;
  readValue(p: { record: CsvRecord; bytes: Uint8Array; index: number; column: string }): FieldValue;
};

export type RowHead = {
  readonly timeMs: number;
  readonly exactTimeMs: number;
  readonly unit: string;
  readonly unitIndex: number;
};

export type FieldValue =
  | { readonly kind: 'number'; readonly value: number }
  | { readonly kind: 'not_available' }
  | { readonly kind: 'unreadable'; readonly reject: Reject };

/** Reads the rows below the header and keeps them until they are taken as a batch. */
export type CsvRowReader = {
  fast?(bytes: Uint8Array, start: number, end: number): number;
  record(record: CsvRecord, bytes: Uint8Array, raw: Uint8Array, position: number): void;
  isFull(): boolean;
  take(isLast: boolean): Pick<DecodedBatch, 'samples' | 'emptyRows' | 'repeatedRows'>;
  unmapped?(): ReadonlyMap<string, number>;
};

/** A CSV decoder around a reader of rows: header, batches, and everything a row of either form has. */
export function createCsvDecoder(
  context: DecodeContext<CsvRule>,
  createReader: (table: CsvTable, layout: CsvLayout) => CsvRowReader,
): Decoder {
  const { rule } = context;
  const rejects = createRejectCollector();
  const statistics = new Map<SignalKey, RunningStatistics>();
  const time = createTimeReader(rule);
  let rowCount = 0;
  let problem: Reject | undefined = time.ok ? undefined : time.reject;
  let rows: CsvRowReader | undefined;
  let header: readonly string[] = [];
  let batches: DecodedBatch[] = [];
  const countRow = () => {
    rowCount += 1;
  };
  const cut = (isLast: boolean) => {
    const taken = rows?.take(isLast) ?? { samples: [], emptyRows: 0, repeatedRows: 0 };
    batches.push({ ...taken, ...rejects.take() });
  };
  const cutWhenFull = () => {
    if (rejects.pending >= BATCH_REJECTS || rows?.isFull()) cut(false);
  };
  const fail = (reject: Reject, raw: Uint8Array, position: number): false => {
    problem = reject;
    countRow();
    rejects.row({ reject, raw, position, unit: rule.unit });
    return false;
  };
  const readHeader = (record: CsvRecord, bytes: Uint8Array, raw: Uint8Array, position: number): boolean => {
    if (!time.ok) return fail(time.reject, raw, position);
    if (raw[0] === 0xff || raw[0] === 0xfe || utf8Text(raw) === undefined) {
      return fail(
        refuse('encoding_unreadable', '', 'The header is not UTF-8 text; export the file as UTF-8.').reject,
        raw,
        position,
      );
    }
    header = headerTexts(record, bytes);
    const layout = layOutColumns({ rule, header });
    if (!layout.ok) return fail(layout.reject, raw, position);
    for (const reject of layout.value.rejects) rejects.value({ reject, raw, position, unit: rule.unit });
    const units = createUnitIds({ rule, unitIds: context.unitIds });
    const table: CsvTable = {
      rule,
      delimiter: rule.delimiter.charCodeAt(0),
      clock: context.clock,
      time: time.value,
      units,
      rejects,
      statistics,
      countRow,
      readHead: createHeadReader({
        rule,
        time: time.value,
        units,
        rejects,
        clock: context.clock,
        header: () => header,
      }),
      readValue: createValueReader(rule),
    };
    rows = createReader(table, layout.value);
    return true;
  };
  const scanner = createCsvScanner({
    delimiter: rule.delimiter.charCodeAt(0),
    skipLines: rule.skipLines,
    reader: {
      fast(bytes, start, end) {
        const next = rows?.fast?.(bytes, start, end) ?? -1;
        if (next >= 0) cutWhenFull();
        return next;
      },
      record(record, bytes, raw, position) {
        if (rows === undefined) return readHeader(record, bytes, raw, position);
        countRow();
        rows.record(record, bytes, raw, position);
        cutWhenFull();
        return true;
      },
      reject(reject, raw, position) {
        if (rows === undefined) return fail(reject, raw, position);
        countRow();
        rejects.row({ reject, raw, position, unit: rule.unit });
        cutWhenFull();
        return true;
      },
    },
  });
  const given = (): DecodedBatch[] => {
    const done = batches;
    batches = [];
    return done;
  };
  return {
    push(bytes) {
      scanner.push(bytes);
      return given();
    },
    finish() {
      scanner.finish();
      if (rows === undefined && problem === undefined) {
        fail(
          refuse(
            'header_missing',
            '',
            'The file ends before a header; check skipLines of the source rule, and that the file is whole.',
          ).reject,
          new Uint8Array(),
          0,
        );
      }
      cut(true);
      return given();
    },
    standing: () => (problem === undefined ? { rowCount } : { rowCount, problem }),
    summary() {
      const unmapped = rows?.unmapped?.();
      return {
        rowCount,
        statistics,
        repeatedTimes: time.ok ? time.value.repeatedTimes() : 0,
        ...(unmapped === undefined ? {} : { unmapped }),
        ...(problem === undefined ? {} : { problem }),
      };
    },
  };
}

function createHeadReader(p: {
  rule: CsvRule;
  time: TimeReader;
  units: UnitIds;
  rejects: RejectCollector;
  clock: ClockLimits;
  header: () => readonly string[];
}): CsvTable['readHead'] {
  return ({ record, bytes, raw, position, layout }) => {
    const refuseRow = (reject: Reject, unit?: string): undefined => {
      p.rejects.row({ reject, raw, position, unit: unit ?? p.rule.unit });
    };
    if (record.count === p.header().length && isHeader({ record, bytes, header: p.header() })) {
      return refuseRow(
        refuse(
          'header_repeated',
          '',
          'The header stands here again, as when files are joined; nothing is lost, but join them without it.',
        ).reject,
      );
    }
    if (record.count !== layout.fieldCount) {
      return refuseRow(
        refuse(
          'field_count',
          '',
          `The row has ${record.count} fields and the header ${layout.fieldCount}; check the delimiter, the quotes and that the line is whole.`,
        ).reject,
      );
    }
    const unitField = layout.unitIndex < 0 ? undefined : fieldBytes(record, bytes, layout.unitIndex);
    const unitIndex = unitField === undefined ? 0 : p.units.indexOf(unitField, 0, unitField.length);
    if (unitIndex < 0) {
      return refuseRow(
        refuse(
          'unit_not_in_fleet',
          p.rule.unitColumn ?? '',
          `"${rawText(unitField ?? raw).slice(0, 60)}" is no unit of the fleet file; add it, or correct the name in the file.`,
        ).reject,
      );
    }
    const unit = p.units.ids[unitIndex];
    const field = fieldBytes(record, bytes, layout.timeIndex);
    if (field.length === 0) {
      return refuseRow(
        refuse('field_missing', p.rule.time.column, 'The row has no time; a reading without one cannot be placed.')
          .reject,
        unit,
      );
    }
    const exactTimeMs = p.time.read(field, 0, field.length);
    if (Number.isNaN(exactTimeMs)) return refuseRow(p.time.problem(field, 0, field.length), unit);
    const timeMs = Math.round(exactTimeMs);
    const reject = clockReject(timeMs, p.clock);
    if (reject !== undefined) return refuseRow(reject, unit);
    p.time.keep();
    return { timeMs, exactTimeMs, unit: unit ?? '', unitIndex };
  };
}

function createValueReader(rule: CsvRule): CsvTable['readValue'] {
  const notAvailable = new Set(rule.notAvailable);
  return ({ record, bytes, index, column }) => {
    const field = fieldBytes(record, bytes, index);
    if (field.length === 0) return { kind: 'not_available' };
    const value = readDecimal(field, 0, field.length, rule.decimal);
    if (!Number.isNaN(value) && notAvailable.size === 0) return { kind: 'number', value };
    const text = utf8Text(field)?.trim();
    if (text === '' || (text !== undefined && notAvailable.has(text))) return { kind: 'not_available' };
    if (!Number.isNaN(value)) return { kind: 'number', value };
    const detail = `"${rawText(field).slice(0, 60)}" is no number with the decimal sign "${rule.decimal}"; correct it, or list it under notAvailable in the source rule if it stands for a missing reading.`;
    return { kind: 'unreadable', reject: { code: 'number_unreadable', field: column, detail } };
  };
}

function isHeader(p: { record: CsvRecord; bytes: Uint8Array; header: readonly string[] }): boolean {
  const texts = headerTexts(p.record, p.bytes);
  return texts.every((text, i) => text === p.header[i]);
}
