import { initialState, type UnitState } from '../analysis/state.ts';
import { step } from '../analysis/step.ts';
import { DAY_MS, DEMO_START_MS } from '../demo/calendar.ts';
import { simulateUnit } from '../demo/simulate-unit.ts';
import type { UnitPlan } from '../demo/unit-plan.ts';
import type { Finding } from '../schemas/finding.ts';
import type { HistoryPoint } from '../schemas/history-point.ts';
import { MAX_BLOCK_SAMPLES, type SampleBlock } from '../schemas/sample-block.ts';
import { SIGNALS, type SignalKey } from '../schemas/signals.ts';
import type { Unit } from '../schemas/unit.ts';

/** What a run of the analysis over one simulated unit gave. */
export type SimulatedRun = {
  readonly unit: Unit;
  readonly state: UnitState;
  readonly findings: readonly Finding[];
  readonly points: readonly HistoryPoint[];
  readonly samples: number;
  readonly stepMs: number;
};

/** The samples of a simulated unit as blocks, straight from the model's memory. */
export function* simulatedBlocks(plan: UnitPlan, p: { days: number; seed: number }): Generator<SampleBlock> {
  for (const day of simulateUnit(plan, { startMs: DEMO_START_MS, days: p.days, seed: p.seed })) {
    for (let from = 0; from < day.count; from += MAX_BLOCK_SAMPLES) {
      const to = Math.min(day.count, from + MAX_BLOCK_SAMPLES);
      const signals: { [K in SignalKey]?: (number | null)[] } = {};
      plan.sensors.forEach((sensor, index) => {
        const column = day.columns[index];
        if (column !== undefined)
          signals[sensor.key] = Array.from(column.subarray(from, to), (value) => (Number.isNaN(value) ? null : value));
      });
      yield { version: 1, unit: plan.id, source: 'simulation', t: Array.from(day.timesMs.subarray(from, to)), signals };
    }
  }
}

/** Runs the analysis over a simulated unit; only the time inside `step` is counted. */
export function runSimulated(p: {
  plan: UnitPlan;
  unit: Unit;
  days: number;
  seed: number;
  rate: number;
  keepPoints: boolean;
}): SimulatedRun {
  let state = initialState();
  const findings: Finding[] = [];
  const points: HistoryPoint[] = [];
  let samples = 0;
  let stepMs = 0;
  for (const block of simulatedBlocks(p.plan, p)) {
    const begun = performance.now();
    const result = step(state, block, { unit: p.unit, falseFindingsPer100UnitsAndWeek: p.rate });
    stepMs += performance.now() - begun;
    state = result.state;
    samples += block.t.length;
    for (const finding of result.findings) findings.push(finding);
    if (p.keepPoints) for (const point of result.points) points.push(point);
  }
  return { unit: p.unit, state, findings, points, samples, stepMs };
}

/** Time of a finding as days of the scenario. */
export function scenarioDay(timeMs: number): number {
  return (timeMs - DEMO_START_MS) / DAY_MS;
}

/** A unit of the fleet file for a plan that has none: rated values from the plan, no limits. */
export function unitOfPlan(plan: UnitPlan, duty: Unit['duty']): Unit {
  const { spec } = plan;
  return {
    id: plan.id,
    name: plan.id,
    kind: plan.marine ? 'vessel' : 'road',
    duty,
    place: 'bench',
    engine: {
      ratedPowerKw: spec.ratedPowerKw,
      ratedSpeedRpm: spec.ratedSpeedRpm,
      idleSpeedRpm: spec.idleSpeedRpm,
      displacementL: spec.displacementL,
      strokes: spec.strokes,
      charging: spec.charging,
      boostControl: spec.boostControl,
      cooler: spec.cooler,
    },
    sensors: Object.fromEntries(
      plan.sensors.map(({ key }) => [
        key,
        SIGNALS[key as SignalKey].unit === 'kPa' ? { reference: SIGNALS[key as SignalKey].reference ?? 'gauge' } : {},
      ]),
    ),
    limits: { source: 'none' },
  };
}
