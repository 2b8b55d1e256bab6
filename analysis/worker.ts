import type { FleetFile } from '../schemas/fleet-file.ts';
import type { HistoryPoint } from '../schemas/history-point.ts';
import { assertBlock } from '../schemas/sample-block.ts';
import type { HistoryPort } from '../storage/history/port.ts';
import type { Emit, Json, LogPort } from '../storage/log/port.ts';
import { applyVerdict } from './apply-verdict.ts';
import type { Context } from './context.ts';
import { decodeState, type UnitState } from './state.ts';
import { step } from './step.ts';

/** Consumer group of the analysis in the log. */
export const ANALYSIS_GROUP = 'analysis';

/** What one round of the analysis dealt with. */
export type AnalysisRound = {
  readonly batches: number;
  readonly blocks: number;
  readonly points: number;
  readonly findings: number;
};

/**
 * One round: takes the next records from the log, steps the units they belong to, keeps the points in the history, and
 * commits findings, states and position together. The history is written before the commit and is idempotent, so a
 * crash between the two repeats points without doubling them.
 *
 * @param p.log - The log.
 * @param p.history - The history.
 * @param p.fleet - Units and the false-alarm rate.
 * @param p.max - Most records to take at once.
 * @returns What was dealt with; `batches` is 0 when nothing was waiting.
 */
export async function runAnalysisOnce(p: {
  readonly log: LogPort;
  readonly history: HistoryPort;
  readonly fleet: FleetFile;
  readonly max: number;
}): Promise<AnalysisRound> {
  const batch = await p.log.poll({ group: ANALYSIS_GROUP, topics: ['samples', 'verdicts'], max: p.max });
  if (batch === undefined) return { batches: 0, blocks: 0, points: 0, findings: 0 };
  const keys = [...new Set(batch.records.map((record) => record.key))];
  const stored = await p.log.states({ group: ANALYSIS_GROUP, keys });
  const states = new Map<string, UnitState>();
  const contexts = contextsByUnit(p.fleet);
  const points: HistoryPoint[] = [];
  const emit: Emit[] = [];
  let blocks = 0;
  for (const record of batch.records) {
    const context = contexts.get(record.key);
    // A unit that has been taken out of the fleet file keeps its samples in the log and its state as it was.
    if (context === undefined) continue;
    const state = states.get(record.key) ?? decodeState(stored.get(record.key)?.value);
    if (record.topic === 'verdicts') {
      states.set(record.key, applyVerdict(state, record.value, context));
    } else if (record.topic === 'samples') {
      assertBlock(record.value);
      blocks += 1;
      const result = step(state, record.value, context);
      states.set(record.key, result.state);
      for (const point of result.points) points.push(point);
      for (const value of result.findings) emit.push({ topic: 'findings', key: record.key, value });
    }
  }
  if (points.length > 0) await p.history.write(points);
  await p.log.commit({
    group: ANALYSIS_GROUP,
    emit,
    state: [...states].map(([key, value]) => ({ key, value: value as unknown as Json })),
    position: batch.position,
  });
  return { batches: 1, blocks, points: points.length, findings: emit.length };
}

function contextsByUnit(fleet: FleetFile): ReadonlyMap<string, Context> {
  const { falseFindingsPer100UnitsAndWeek } = fleet.fleet;
  return new Map(fleet.units.map((unit) => [unit.id, { unit, falseFindingsPer100UnitsAndWeek }]));
}
