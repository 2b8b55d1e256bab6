import { SIGNALS } from '../../schemas/signals.ts';
import type { CsvRule } from '../../schemas/source-rule.ts';
import { rangeReject } from '../checks.ts';
import { type CsvRowReader, type CsvTable, createCsvDecoder } from './csv-decoder.ts';
import type { CsvLayout } from './csv-layout.ts';
import { type CsvRecord, RECORD_MAX_BYTES } from './csv-record.ts';
import { NOT_PLAIN } from './csv-scanner.ts';
import { EXACT_DIGITS, POWERS_OF_TEN, parseDecimal } from './decimal.ts';
import { BATCH_ROWS, type DecodeContext, type Decoder } from './decoder.ts';
import { addColumn, emptyStatistics } from './running-statistics.ts';
import { splitByUnit } from './wide-batch.ts';

/** What stands in a field. Zero and above: the slot of a signal. */
const SKIP = -1;
const TIME = -2;
const UNIT = -3;

/** Decoder for wide tables: one row a time, one column a signal. */
export function createCsvWideDecoder(context: DecodeContext<CsvRule>): Decoder {
  return createCsvDecoder(context, createWideReader);
}

function createWideReader(table: CsvTable, layout: CsvLayout): CsvRowReader {
  const { plans, fieldCount } = layout;
  const slots = new Int16Array(fieldCount).fill(SKIP);
  slots[layout.timeIndex] = TIME;
  if (layout.unitIndex >= 0) slots[layout.unitIndex] = UNIT;
  for (const [slot, plan] of plans.entries()) slots[plan.fieldIndex] = slot;
  const scales = Float64Array.from(plans, (plan) => plan.scale);
  const offsets = Float64Array.from(plans, (plan) => plan.offset);
  const minima = Float64Array.from(plans, (plan) => SIGNALS[plan.key].min);
  const maxima = Float64Array.from(plans, (plan) => SIGNALS[plan.key].max);
  const values = new Float64Array(plans.length * BATCH_ROWS);
  const times = new Float64Array(BATCH_ROWS);
  const units = new Int32Array(BATCH_ROWS);
  const delimiter = table.delimiter;
  const decimal = table.rule.decimal === ',' ? 0x2c : 0x2e;
  const { earliestMs, latestMs } = table.clock;
  const lastField = fieldCount - 1;
  let row = 0;

  // The hot path: digits become numbers in place, without a string, an object or a call for a value.
  const fast = (bytes: Uint8Array, start: number, end: number): number => {
    let at = start;
    let byte = 0;
    let timeMs = Number.NaN;
    let unit = 0;
    for (let field = 0; field <= lastField; field += 1) {
      const slot = slots[field] as number;
      byte = bytes[at] as number;
      if (slot >= 0) {
        if (byte === delimiter || byte === 0x0a || byte === 0x0d) {
          values[slot * BATCH_ROWS + row] = Number.NaN;
        } else {
          const isNegative = byte === 0x2d;
          if (isNegative) {
            at += 1;
            byte = bytes[at] as number;
          }
          let first = at;
          let mantissa = 0;
          while (byte >= 0x30 && byte <= 0x39) {
            mantissa = mantissa * 10 + (byte - 0x30);
            at += 1;
            byte = bytes[at] as number;
          }
          let fraction = 0;
          if (byte === decimal && decimal !== delimiter) {
            at += 1;
            first += 1;
            const begin = at;
            byte = bytes[at] as number;
            while (byte >= 0x30 && byte <= 0x39) {
              mantissa = mantissa * 10 + (byte - 0x30);
              at += 1;
              byte = bytes[at] as number;
            }
            fraction = at - begin;
          }
          const digits = at - first;
          if (digits === 0 || digits > EXACT_DIGITS) return NOT_PLAIN;
          const plain = fraction === 0 ? mantissa : mantissa / (POWERS_OF_TEN[fraction] as number);
          const value = (isNegative ? -plain : plain) * (scales[slot] as number) + (offsets[slot] as number);
          if (!(value >= (minima[slot] as number) && value <= (maxima[slot] as number))) return NOT_PLAIN;
          values[slot * BATCH_ROWS + row] = value;
        }
      } else {
        if (byte === 0x22) return NOT_PLAIN;
        const first = at;
        while (byte > 0x0d && byte !== delimiter) {
          at += 1;
          byte = bytes[at] as number;
        }
        if (slot === TIME) {
          timeMs = Math.round(table.time.read(bytes, first, at));
          if (!(timeMs >= earliestMs && timeMs <= latestMs)) return NOT_PLAIN;
        } else if (slot === UNIT) {
          unit = table.units.indexOf(bytes, first, at);
          if (unit < 0) return NOT_PLAIN;
        }
      }
      if (field < lastField) {
        if (byte !== delimiter) return NOT_PLAIN;
        at += 1;
      }
    }
    if (at >= end || at - start > RECORD_MAX_BYTES) return NOT_PLAIN;
    if (byte === 0x0d) {
      if (at + 1 >= end) return NOT_PLAIN;
      at += bytes[at + 1] === 0x0a ? 1 : 0;
    } else if (byte !== 0x0a) return NOT_PLAIN;
    if (at === start) return NOT_PLAIN;
    times[row] = timeMs;
    units[row] = unit;
    row += 1;
    table.time.keep();
    table.countRow();
    return at + 1;
  };

  // A stray row leaves the other values of its slots behind; they are written over by the next row.
  const record = (found: CsvRecord, bytes: Uint8Array, raw: Uint8Array, position: number): void => {
    const head = table.readHead({ record: found, bytes, raw, position, layout });
    if (head === undefined) return;
    for (const [slot, plan] of plans.entries()) {
      const at = slot * BATCH_ROWS + row;
      const read = table.readValue({ record: found, bytes, index: plan.fieldIndex, column: plan.column });
      values[at] = Number.NaN;
      if (read.kind === 'unreadable') table.rejects.value({ reject: read.reject, position, raw, unit: head.unit });
      if (read.kind !== 'number') continue;
      const value = read.value * plan.scale + plan.offset;
      const reject = rangeReject({ key: plan.key, value });
      if (reject === undefined) values[at] = value;
      else table.rejects.value({ reject, position, raw, unit: head.unit });
    }
    times[row] = head.timeMs;
    units[row] = head.unitIndex;
    row += 1;
  };

  return {
    ...(hasNumericGap({ rule: table.rule, plans }) ? {} : { fast }),
    record,
    isFull: () => row >= BATCH_ROWS,
    take() {
      const timesMs = times.slice(0, row);
      const columns = plans.map(
        (plan, slot) => [plan.key, values.slice(slot * BATCH_ROWS, slot * BATCH_ROWS + row)] as const,
      );
      for (const [key, column] of columns) {
        let statistics = table.statistics.get(key);
        if (statistics === undefined) {
          statistics = emptyStatistics();
          table.statistics.set(key, statistics);
        }
        addColumn(statistics, { values: column, timesMs });
      }
      const samples = splitByUnit({ timesMs, columns, units: units.slice(0, row), unitIds: table.units.ids });
      row = 0;
      return { samples, emptyRows: 0, repeatedRows: 0 };
    },
  };
}

// A number that stands for "not available" and could also be a reading has to be compared as text, field by field.
function hasNumericGap(p: { rule: CsvRule; plans: CsvLayout['plans'] }): boolean {
  return p.rule.notAvailable.some((text) => {
    const value = parseDecimal({ text, decimal: p.rule.decimal });
    if (value === undefined) return false;
    return p.plans.some(
      (plan) => rangeReject({ key: plan.key, value: value * plan.scale + plan.offset }) === undefined,
    );
  });
}
