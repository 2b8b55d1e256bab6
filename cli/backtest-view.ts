import { causeFacts } from '../alerts/checklists/causes.ts';
import type { BacktestRun } from '../analysis/backtest.ts';
import { type FaultOutcome, upsetsOf } from '../analysis/backtest-outcomes.ts';
import type { Truth } from '../analysis/backtest-truth.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import type { Unit } from '../schemas/unit.ts';
import type { BacktestLane, BacktestLine, BacktestView } from '../web/backtest-page.ts';
import { formatNumber } from '../web/format.ts';
import type { BacktestResult } from './run-backtest.ts';

/** A back-test as its page shows it. */
export function backtestView(p: { fleet: FleetFile; units: readonly Unit[]; result: BacktestResult }): BacktestView {
  const { result, units } = p;
  const { scores, truth } = result;
  const withData = result.runs.flat().filter(({ toMs }) => toMs > 0);
  const nameOf = (id: string) => units.find((unit) => unit.id === id)?.name ?? id;
  return {
    fleetName: p.fleet.fleet.name,
    zone: p.fleet.fleet.timeZone,
    fromMs: Math.min(...withData.map(({ fromMs }) => fromMs)),
    toMs: Math.max(...withData.map(({ toMs }) => toMs)),
    units: units.length,
    unitWeeks: scores[0]?.healthyUnitWeeks ?? 0,
    truth: truthSentence(truth),
    lines: scores.map(
      (score): BacktestLine => ({
        setting: score.setting,
        detected: score.detected,
        missed: score.missed,
        findings: score.findings,
        upsets: score.upsets,
        ...(score.medianDelayRunningHours === undefined ? {} : { medianDelayHours: score.medianDelayRunningHours }),
        ...(score.medianDelayDays === undefined ? {} : { medianDelayDays: score.medianDelayDays }),
        ...(score.falsePer100UnitsAndWeek === undefined ? {} : { falseRate: score.falsePer100UnitsAndWeek }),
        ...(score.precision === undefined ? {} : { precision: score.precision }),
      }),
    ),
    faults: (scores[0]?.faults ?? []).map((fault, index) => ({
      unitName: nameOf(fault.unit),
      term: causeFacts(fault.fault).term,
      fromMs: fault.fromMs,
      onset: fault.onset,
      outcomes: scores.map((score) => outcomeText(score.faults[index])),
    })),
    lanes: units.map((unit) =>
      laneOf(unit, { truth, runs: result.runs.map((runs) => runs.find((run) => run.unit === unit.id)) }),
    ),
  };
}

function truthSentence(truth: Truth): string {
  if (truth.complete)
    return `Held against a list of ${truth.faults.length} known faults that was given as complete: every other alarm counts as false.`;
  return `Held against what fitters found: ${truth.faults.length} faults and ${truth.refuted.length} times nothing. An alarm that nobody has looked into is neither true nor false.`;
}

function outcomeText(outcome: FaultOutcome | undefined): string {
  if (outcome === undefined) return '–';
  if (outcome.outcome === 'missed') return 'missed';
  if (outcome.outcome === 'not_judged') return 'not judged';
  return `${formatNumber(outcome.delayRunningHours ?? 0)} h, ${formatNumber(outcome.delayDays ?? 0)} days`;
}

function laneOf(unit: Unit, p: { truth: Truth; runs: readonly (BacktestRun | undefined)[] }): BacktestLane {
  const end = Math.max(...p.runs.map((run) => run?.toMs ?? 0));
  return {
    unitName: unit.name,
    faults: p.truth.faults
      .filter((fault) => fault.unit === unit.id)
      .map(({ fromMs, toMs, fault }) => ({ fromMs, toMs: Math.min(toMs, end), term: causeFacts(fault).term })),
    settings: p.runs.map((run) => ({
      ...(run?.learntMs === undefined ? {} : { learntMs: run.learntMs }),
      alarms:
        run === undefined ? [] : upsetsOf(run, p.truth).map(({ fromMs, toMs, verdict }) => ({ fromMs, toMs, verdict })),
    })),
  };
}
