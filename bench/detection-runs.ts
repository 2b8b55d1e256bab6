import { initialState } from '../analysis/state.ts';
import { step } from '../analysis/step.ts';
import { type SyntheticFleet, syntheticFleet, syntheticFleetUnits } from '../demo/synthetic-fleet.ts';
import type { Finding } from '../schemas/finding.ts';
import type { HistoryPoint } from '../schemas/history-point.ts';
import { MAX_BLOCK_SAMPLES, type SampleBlock } from '../schemas/sample-block.ts';
import type { SignalKey } from '../schemas/signals.ts';
import type { Unit } from '../schemas/unit.ts';

/** One unit of a synthetic fleet as the analysis saw it. */
export type DetectionRun = {
  readonly unit: Unit;
  /** Every report, in order; later ones carry the same id. */
  readonly findings: readonly Finding[];
  readonly points: readonly HistoryPoint[];
  /** Running hours at each sample block's end, to turn a calendar time into running hours. */
  readonly clock: readonly { readonly atMs: number; readonly hours: number }[];
  /** When the first expectation had been learnt; `undefined` when none was. */
  readonly learntMs: number | undefined;
  readonly samples: number;
  readonly stepMs: number;
  readonly stateBytes: number;
};

/** Runs the analysis over every unit of a synthetic fleet. */
export function* detectionRuns(
  fleet: SyntheticFleet,
  p: { rate: number; keepPoints: boolean },
): Generator<DetectionRun> {
  const units = syntheticFleetUnits(fleet);
  let run: ReturnType<typeof createRun> | undefined;
  for (const day of syntheticFleet(fleet)) {
    if (run === undefined || run.unit.id !== day.unitId) {
      if (run !== undefined) yield run.finish();
      const unit = units.find((one) => one.id === day.unitId);
      if (unit === undefined) continue;
      run = createRun(unit, p);
    }
    run.take(day.tMs, day.columns);
  }
  if (run !== undefined) yield run.finish();
}

function createRun(unit: Unit, p: { rate: number; keepPoints: boolean }) {
  let state = initialState();
  let learntMs: number | undefined;
  let samples = 0;
  let stepMs = 0;
  const findings: Finding[] = [];
  const points: HistoryPoint[] = [];
  const clock: { atMs: number; hours: number }[] = [];
  return {
    unit,
    take(tMs: readonly number[], columns: { [K in SignalKey]?: (number | null)[] }) {
      for (let from = 0; from < tMs.length; from += MAX_BLOCK_SAMPLES) {
        const to = Math.min(tMs.length, from + MAX_BLOCK_SAMPLES);
        const signals = Object.fromEntries(
          Object.entries(columns).map(([key, values]) => [key, values?.slice(from, to)]),
        );
        const block: SampleBlock = { version: 1, unit: unit.id, source: 'bench', t: tMs.slice(from, to), signals };
        const begun = performance.now();
        const result = step(state, block, { unit, falseFindingsPer100UnitsAndWeek: p.rate });
        stepMs += performance.now() - begun;
        state = result.state;
        samples += block.t.length;
        findings.push(...result.findings);
        if (p.keepPoints) for (const point of result.points) points.push(point);
        if (learntMs === undefined && Object.keys(state.channels).length > 0) learntMs = state.hourEndMs;
        clock.push({ atMs: state.steady.lastMs, hours: state.steady.runningMs / 3_600_000 });
      }
    },
    finish(): DetectionRun {
      return { unit, findings, points, clock, learntMs, samples, stepMs, stateBytes: JSON.stringify(state).length };
    },
  };
}

/** Running hours of a unit at a calendar time, read off its clock. */
export function runningHoursAt(run: DetectionRun, atMs: number): number {
  let before = { atMs: 0, hours: 0 };
  for (const tick of run.clock) {
    if (tick.atMs >= atMs) {
      const share = tick.atMs === before.atMs ? 1 : (atMs - before.atMs) / (tick.atMs - before.atMs);
      return before.hours + share * (tick.hours - before.hours);
    }
    before = tick;
  }
  return before.hours;
}

/** The first report of each finding. */
export function firstReports(findings: readonly Finding[]): readonly Finding[] {
  const seen = new Set<string>();
  return findings.filter((finding) => !seen.has(finding.id) && seen.add(finding.id) !== undefined);
}
