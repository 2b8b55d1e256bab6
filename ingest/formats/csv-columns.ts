import { type Reject, refuse } from '../../schemas/reject.ts';
import { SIGNALS, type SignalKey } from '../../schemas/signals.ts';
import type { CsvRule } from '../../schemas/source-rule.ts';
import { linearConversion, parseUnit } from '../../schemas/units.ts';

/** How the numbers of one column or channel become one signal. */
export type ColumnPlan = {
  readonly key: SignalKey;
  /** Header of the column, or name of the channel. */
  readonly column: string;
  /** canonical = value * scale + offset */
  readonly scale: number;
  readonly offset: number;
};

/** The columns that can be read, and why the others cannot. */
export type ColumnPlans = { readonly plans: readonly ColumnPlan[]; readonly rejects: readonly Reject[] };

/**
 * Turns the columns of a rule into conversions.
 *
 * Boost stated as absolute is read as the absolute intake manifold pressure, and the other way round; the intake takes
 * the barometric pressure off. Any other change of reference is refused, for it would need a barometer beside every value.
 */
export function planColumns(rule: Pick<CsvRule, 'columns'>): ColumnPlans {
  const plans: ColumnPlan[] = [];
  const rejects: Reject[] = [];
  for (const [name, column] of Object.entries(rule.columns)) {
    if (column === undefined) continue;
    const planned = planColumn(name as SignalKey, column);
    if ('code' in planned) rejects.push(planned);
    else if (plans.some((plan) => plan.key === planned.key || plan.column === planned.column)) {
      rejects.push(
        refuse(
          'column_repeated',
          column.column,
          `"${column.column}" and another column of the source rule meet in one signal or one column; keep one of them.`,
        ).reject,
      );
    } else plans.push(planned);
  }
  return { plans, rejects };
}

function planColumn(stated: SignalKey, column: NonNullable<CsvRule['columns'][SignalKey]>): ColumnPlan | Reject {
  const canonical = SIGNALS[stated];
  const unit = column.unit === undefined ? undefined : parseUnit(column.unit);
  if (column.unit !== undefined && unit === undefined) {
    return refuse(
      'unit_unknown',
      column.column,
      `"${column.unit}" is no unit that is known here; write one such as kPa, bar, psi, degC, degF or rpm.`,
    ).reject;
  }
  const to = canonical.unit;
  const target = parseUnit(to)?.unit;
  const line = target === undefined ? undefined : linearConversion({ from: unit?.unit ?? target, to: target });
  if (line === undefined) {
    return refuse(
      'unit_unknown',
      column.column,
      `"${column.unit ?? to}" does not measure ${canonical.term}, which is in ${to}; state the unit of the numbers in the file.`,
    ).reject;
  }
  const wanted = 'reference' in canonical ? canonical.reference : undefined;
  const reference = column.reference ?? unit?.reference ?? wanted;
  const key = reference === wanted ? stated : counterpart(stated);
  if (key === undefined) {
    return refuse(
      'reference_unusable',
      column.column,
      `${canonical.term} is kept as ${wanted ?? 'no'} pressure and the file has it as ${reference ?? 'none'}; log the other one, for the barometric pressure beside it is not known here.`,
    ).reject;
  }
  return { key, column: column.column, scale: line.scale, offset: line.offset };
}

function counterpart(key: SignalKey): SignalKey | undefined {
  if (key === 'boostPressure') return 'intakeManifoldPressureAbsolute';
  return key === 'intakeManifoldPressureAbsolute' ? 'boostPressure' : undefined;
}
