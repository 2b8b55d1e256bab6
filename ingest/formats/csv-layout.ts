import { accept, type Checked, type Reject, refuse } from '../../schemas/reject.ts';
import type { CsvRule } from '../../schemas/source-rule.ts';
import { type ColumnPlan, type ColumnPlans, planColumns } from './csv-columns.ts';
import { type CsvRecord, fieldBytes } from './csv-record.ts';
import { utf8Text } from './raw-text.ts';

/** Where the columns that matter stand in the records of one file; -1 where there is none. */
export type CsvLayout = {
  readonly fieldCount: number;
  readonly timeIndex: number;
  readonly unitIndex: number;
  readonly channelIndex: number;
  readonly valueIndex: number;
  /** Long files: by channel. Wide files: with the index of the field. */
  readonly plans: readonly (ColumnPlan & { readonly fieldIndex: number })[];
  /** Columns of the rule that cannot be read; the others are. */
  readonly rejects: readonly Reject[];
};

/**
 * Finds the columns of a rule in the header of a file.
 *
 * @returns A reject when the file cannot be read with this rule at all: the time, unit, channel or value column is
 *   missing, a needed header stands twice, or no signal is left.
 */
export function layOutColumns(p: { rule: CsvRule; header: readonly string[] }): Checked<CsvLayout> {
  const { rule, header } = p;
  const isLong = rule.format === 'csv_long';
  const planned: ColumnPlans = planColumns(rule);
  const structural = [rule.time.column, rule.unitColumn, ...(isLong ? [rule.channelColumn, rule.valueColumn] : [])];
  for (const name of structural) {
    const reject = name === undefined ? undefined : columnProblem(header, name);
    if (reject !== undefined) return { ok: false, reject };
  }
  const rejects = [...planned.rejects];
  const plans = planned.plans.flatMap((plan) => {
    const reject = isLong ? undefined : columnProblem(header, plan.column);
    if (reject !== undefined) rejects.push(reject);
    return reject === undefined ? [{ ...plan, fieldIndex: header.indexOf(plan.column) }] : [];
  });
  if (plans.length === 0) {
    const [first] = rejects;
    return first !== undefined
      ? { ok: false, reject: first }
      : refuse('column_missing', '', 'The source rule names no column of a signal; map at least one.');
  }
  const index = (name: string | undefined) => (name === undefined ? -1 : header.indexOf(name));
  return accept({
    fieldCount: header.length,
    timeIndex: index(rule.time.column),
    unitIndex: index(rule.unitColumn),
    channelIndex: isLong ? index(rule.channelColumn) : -1,
    valueIndex: isLong ? index(rule.valueColumn) : -1,
    plans,
    rejects,
  });
}

/** The header texts of a record, without blanks round them. */
export function headerTexts(record: CsvRecord, bytes: Uint8Array): string[] {
  return Array.from({ length: record.count }, (_, i) => (utf8Text(fieldBytes(record, bytes, i)) ?? '').trim());
}

function columnProblem(header: readonly string[], name: string): Reject | undefined {
  const found = header.filter((text) => text === name).length;
  if (found === 1) return undefined;
  if (found > 1) {
    return refuse(
      'column_repeated',
      name,
      `The header has "${name}" ${found} times; rename the others, for it cannot be told which one is meant.`,
    ).reject;
  }
  const shown = header.slice(0, 12).join(', ');
  return refuse(
    'column_missing',
    name,
    `The header has no "${name}"; it has ${shown.slice(0, 300)}. Correct the source rule, or its delimiter if the names run together.`,
  ).reject;
}
