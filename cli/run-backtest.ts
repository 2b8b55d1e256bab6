import { listTasks } from '../alerts/tasks.ts';
import { type BacktestRun, type BacktestSetting, createBacktest } from '../analysis/backtest.ts';
import { type BacktestScore, scoreBacktest } from '../analysis/backtest-score.ts';
import { type KnownFault, type Truth, truthFromVerdicts } from '../analysis/backtest-truth.ts';
import type { Unit } from '../schemas/unit.ts';
import type { Verdict } from '../schemas/verdict.ts';
import type { LogPort } from '../storage/log/port.ts';
import { createProgress } from './progress.ts';

/** What a back-test gave: the runs of every setting, and their scores in the same order. */
export type BacktestResult = {
  readonly settings: readonly BacktestSetting[];
  readonly truth: Truth;
  readonly runs: readonly (readonly BacktestRun[])[];
  readonly scores: readonly BacktestScore[];
};

/**
 * Reads the samples of each unit once and runs every setting over them.
 *
 * @param p.faults - A complete list of known faults; left out, what fitters found is the truth.
 * @param p.signal - Stops between two blocks.
 * @returns `undefined` when it was told to stop.
 */
export async function runBacktest(p: {
  log: LogPort;
  units: readonly Unit[];
  settings: readonly BacktestSetting[];
  faults: readonly KnownFault[] | undefined;
  signal: AbortSignal;
}): Promise<BacktestResult | undefined> {
  const { log, settings, units } = p;
  const ids = units.map(({ id }) => id);
  const verdicts = (await verdictsOf(log)).filter(({ unit }) => ids.includes(unit));
  const truth = await truthOf({ ...p, verdicts });
  const runs = settings.map((): BacktestRun[] => []);
  const progress = createProgress('Back-testing');
  try {
    for (const [index, unit] of units.entries()) {
      const own = verdicts.filter((verdict) => verdict.unit === unit.id);
      const tests = settings.map((setting) => createBacktest({ unit, setting, verdicts: own }));
      for await (const { value } of log.scan({ topic: 'samples', key: unit.id })) {
        if (p.signal.aborted) return undefined;
        for (const test of tests) test.take(value);
        await new Promise((resolve) => setImmediate(resolve));
      }
      tests.forEach((test, at) => {
        runs[at]?.push(test.finish());
      });
      progress.update((index + 1) / units.length);
    }
  } finally {
    progress.stop();
  }
  return { settings, truth, runs, scores: runs.map((ofSetting) => scoreBacktest(ofSetting, truth)) };
}

/** All verdicts in the log. */
export async function verdictsOf(log: LogPort): Promise<readonly Verdict[]> {
  const verdicts: Verdict[] = [];
  for await (const { value } of log.scan({ topic: 'verdicts' })) verdicts.push(value);
  return verdicts;
}

async function truthOf(p: {
  log: LogPort;
  units: readonly Unit[];
  faults: readonly KnownFault[] | undefined;
  verdicts: readonly Verdict[];
}): Promise<Truth> {
  const tasks = new Map(
    (p.verdicts.length === 0 ? [] : await listTasks({ log: p.log })).map((task) => [task.id, task]),
  );
  const found = truthFromVerdicts(p.verdicts, ({ task }) => {
    const onsets = tasks.get(task)?.findings.map(({ sinceMs }) => sinceMs) ?? [];
    return onsets.length === 0 ? undefined : Math.min(...onsets);
  });
  if (p.faults === undefined) return found;
  const ids = p.units.map(({ id }) => id);
  return { faults: p.faults.filter(({ unit }) => ids.includes(unit)), refuted: found.refuted, complete: true };
}
