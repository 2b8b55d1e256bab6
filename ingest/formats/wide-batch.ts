import type { SignalKey } from '../../schemas/signals.ts';
import type { Samples } from './decoder.ts';

/**
 * Rows of several units, in the order of the file, as one run of samples a unit.
 *
 * @param p.units - For every row the index of its unit in `unitIds`.
 * @returns Units in the order of their first row; empty without rows.
 */
export function splitByUnit(p: {
  timesMs: Float64Array;
  columns: readonly (readonly [SignalKey, Float64Array])[];
  units: Int32Array;
  unitIds: readonly string[];
}): Samples[] {
  const rowsByUnit = new Map<number, number[]>();
  const [first] = p.units;
  if (first === undefined) return [];
  if (p.units.every((unit) => unit === first)) {
    return [{ unit: p.unitIds[first] ?? '', timesMs: p.timesMs, columns: new Map(p.columns) }];
  }
  for (const [row, unit] of p.units.entries()) {
    const rows = rowsByUnit.get(unit);
    if (rows === undefined) rowsByUnit.set(unit, [row]);
    else rows.push(row);
  }
  return [...rowsByUnit].map(([unit, rows]) => ({
    unit: p.unitIds[unit] ?? '',
    timesMs: Float64Array.from(rows, (row) => p.timesMs[row] ?? Number.NaN),
    columns: new Map(
      p.columns.map(([key, values]) => [key, Float64Array.from(rows, (row) => values[row] ?? Number.NaN)]),
    ),
  }));
}
