import type { SignalKey } from '../../schemas/signals.ts';
import type { CsvRule, J1939Rule, SourceRule } from '../../schemas/source-rule.ts';
import { clockLimits } from '../checks.ts';
import type { DecodedBatch, DecodeSummary, PlacedReject, Tally } from './decoder.ts';
import { createDecoder } from './formats.ts';

/** 2026-01-01, later than every time in the tests. */
const DEFAULT_NOW_MS = 1_767_225_600_000;

/** What a text decodes to, in a form that tests can compare. */
export type Decoded = {
  readonly rows: {
    readonly unit: string;
    readonly timeMs: number;
    readonly values: { readonly [K in SignalKey]?: number };
  }[];
  readonly sampleRows: number;
  readonly emptyRows: number;
  readonly repeatedRows: number;
  readonly rejectedRows: Tally;
  readonly rejectedValues: Tally;
  readonly rejects: PlacedReject[];
  readonly summary: DecodeSummary;
};

/** A wide table rule with the columns `time`, `rpm` and `boost` (bar), changed as the test needs. */
export function wideRule(changes: Partial<CsvRule> = {}): CsvRule {
  return {
    id: 'table',
    files: '*.csv',
    format: 'csv_wide',
    unit: 'truck-1',
    delimiter: ',',
    decimal: '.',
    skipLines: 0,
    notAvailable: [],
    time: { column: 'time', format: 'iso8601' },
    columns: { engineSpeed: { column: 'rpm' }, boostPressure: { column: 'boost', unit: 'bar' } },
    ...changes,
  };
}

/** A bus rule for the engine at address 0. */
export function busRule(changes: Partial<J1939Rule> = {}): J1939Rule {
  return { id: 'bus', files: '*.log', format: 'j1939_candump', unit: 'truck-1', sourceAddress: 0, ...changes };
}

/**
 * Decodes a text or bytes.
 *
 * @param p.cuts - Places at which the bytes are cut into chunks; left out, one chunk.
 */
export function decode(p: {
  rule: SourceRule;
  bytes: string | Uint8Array;
  cuts?: readonly number[];
  nowMs?: number;
}): Decoded {
  const bytes = typeof p.bytes === 'string' ? new TextEncoder().encode(p.bytes) : p.bytes;
  const decoder = createDecoder({
    rule: p.rule,
    unitIds: new Set(['truck-1', 'truck-2']),
    clock: clockLimits(p.nowMs ?? DEFAULT_NOW_MS),
  });
  const batches: DecodedBatch[] = [];
  const cuts = [...(p.cuts ?? [])].map((cut) => cut % (bytes.length + 1)).sort((a, b) => a - b);
  let from = 0;
  for (const to of [...cuts, bytes.length]) {
    batches.push(...decoder.push(bytes.slice(from, to)));
    from = to;
  }
  batches.push(...decoder.finish());
  return gathered(batches, decoder.summary());
}

function gathered(batches: readonly DecodedBatch[], summary: DecodeSummary): Decoded {
  const total = (tallies: readonly Tally[]): Tally => {
    const sum: Tally = {};
    for (const tally of tallies) {
      for (const [code, count] of Object.entries(tally))
        sum[code as keyof Tally] = (sum[code as keyof Tally] ?? 0) + count;
    }
    return sum;
  };
  const samples = batches.flatMap((batch) => batch.samples);
  const rows = samples.flatMap((item) =>
    [...item.timesMs].map((timeMs, i) => {
      const present = [...item.columns].flatMap(([key, values]) => {
        const value = values[i];
        return value === undefined || Number.isNaN(value) ? [] : [[key, value] as const];
      });
      return { unit: item.unit, timeMs, values: Object.fromEntries(present) };
    }),
  );
  return {
    rows,
    sampleRows: samples.reduce(
      (sum, item) => sum + (item.rowCounts?.reduce((a, b) => a + b, 0) ?? item.timesMs.length),
      0,
    ),
    emptyRows: batches.reduce((sum, batch) => sum + batch.emptyRows, 0),
    repeatedRows: batches.reduce((sum, batch) => sum + batch.repeatedRows, 0),
    rejectedRows: total(batches.map((batch) => batch.rejectedRows)),
    rejectedValues: total(batches.map((batch) => batch.rejectedValues)),
    rejects: batches.flatMap((batch) => batch.rejects),
    summary,
  };
}
