import { assertBlock, MAX_BLOCK_SAMPLES, type SampleBlock, type TroubleCode } from '../schemas/sample-block.ts';
import type { SignalKey } from '../schemas/signals.ts';
import type { IntakeState, PendingRows } from './intake-state.ts';

/** A barometric pressure is used for boost while it is no older: weather and road height change slowly. Common practice, no source. */
export const BAROMETRIC_MAX_AGE_MS = 30 * 60 * 1000;

/** Blocks, and the newest barometric pressure after them. */
export type Blocks = { readonly blocks: readonly SampleBlock[]; readonly barometric: IntakeState['barometric'] };

/**
 * Cuts rows in order into blocks of at most {@link MAX_BLOCK_SAMPLES}, with gauge boost where only absolute manifold
 * pressure was logged.
 *
 * @param p.barometric - Newest barometric pressure before the rows.
 */
export function sampleBlocks(p: {
  unit: string;
  source: string;
  rows: PendingRows;
  barometric: IntakeState['barometric'];
  troubleCodes: readonly TroubleCode[] | null;
}): Blocks {
  const { rows, barometric } = withGaugeBoost(p.rows, p.barometric);
  const blocks: SampleBlock[] = [];
  for (let from = 0; from < rows.timesMs.length; from += MAX_BLOCK_SAMPLES) {
    const to = Math.min(from + MAX_BLOCK_SAMPLES, rows.timesMs.length);
    const signals: { [K in SignalKey]?: readonly (number | null)[] } = {};
    for (const [key, values] of Object.entries(rows.columns)) {
      const part = values?.slice(from, to) ?? [];
      if (part.some((value) => value !== null)) signals[key as SignalKey] = part;
    }
    const block: SampleBlock = {
      version: 1,
      unit: p.unit,
      source: p.source,
      t: rows.timesMs.slice(from, to),
      signals,
      ...(p.troubleCodes === null ? {} : { troubleCodes: p.troubleCodes }),
    };
    assertBlock(block);
    blocks.push(block);
  }
  return { blocks, barometric };
}

function withGaugeBoost(
  rows: PendingRows,
  before: IntakeState['barometric'],
): { rows: PendingRows; barometric: IntakeState['barometric'] } {
  const pressures = rows.columns.barometricPressure;
  const absolute = rows.columns.intakeManifoldPressureAbsolute;
  const stated = rows.columns.boostPressure;
  let barometric = before;
  const boost: (number | null)[] = [];
  for (const [index, timeMs] of rows.timesMs.entries()) {
    const pressureAbsKpa = pressures?.[index];
    if (pressureAbsKpa !== null && pressureAbsKpa !== undefined) barometric = { timeMs, pressureAbsKpa };
    const manifoldAbsKpa = absolute?.[index];
    const isFresh = barometric !== null && timeMs - barometric.timeMs <= BAROMETRIC_MAX_AGE_MS;
    const made =
      manifoldAbsKpa !== null && manifoldAbsKpa !== undefined && isFresh
        ? manifoldAbsKpa - (barometric?.pressureAbsKpa ?? 0)
        : null;
    boost.push(stated?.[index] ?? made);
  }
  if (absolute === undefined || !boost.some((value) => value !== null)) return { rows, barometric };
  return { rows: { timesMs: rows.timesMs, columns: { ...rows.columns, boostPressure: boost } }, barometric };
}
