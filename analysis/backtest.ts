import type { Finding } from '../schemas/finding.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import type { Unit } from '../schemas/unit.ts';
import type { Verdict } from '../schemas/verdict.ts';
import { applyVerdict } from './apply-verdict.ts';
import type { Context } from './context.ts';
import { cutBlock } from './cut-block.ts';
import { createRunRuleWatch, MAX_HOURS_BETWEEN } from './run-rule-alarms.ts';
import type { AnalysisSettings } from './settings.ts';
import { initialState } from './state.ts';
import { step } from './step.ts';

/** One way of setting the analysis that is tried on past data. */
export type BacktestSetting = {
  /** How it is called beside the others. */
  readonly name: string;
  readonly falseFindingsPer100UnitsAndWeek: number;
  readonly settings: Partial<AnalysisSettings>;
  /** Adds the run rules as a detector beside the live ones. */
  readonly runRules: boolean;
};

/** A finding or an alarm of the run rules: from its first report to its end. */
export type Alarm = {
  readonly kind: Finding['kind'];
  readonly detector: Finding['detector'] | 'run_rules';
  readonly subject: string;
  readonly atMs: number;
  /** `null` when it still stood at the end of the data. */
  readonly endMs: number | null;
  /** Leading cause of the newest report; left out where the detector ranks none. */
  readonly leadingCause?: string;
};

/** What one setting made of the samples of one unit. */
export type BacktestRun = {
  readonly unit: string;
  readonly setting: string;
  readonly alarms: readonly Alarm[];
  /** Times of the first and last sample, ms since 1970 UTC; both 0 without a sample. */
  readonly fromMs: number;
  readonly toMs: number;
  /** When the first expectation had been learnt; `undefined` when none was. */
  readonly learntMs: number | undefined;
  /** Running hours by time, rising; see {@link runningHoursAt}. */
  readonly clock: readonly { readonly atMs: number; readonly hours: number }[];
};

/** Takes the samples of one unit in the order of their times, then says what came of them. */
export type Backtest = { take(block: SampleBlock): void; finish(): BacktestRun };

const HOUR_MS = 3_600_000;

/**
 * Runs the live `step` over past samples with another setting. What fitters found is taken in at its time, as it would
 * have been live, so repairs restart the charts that they touched.
 *
 * @param p.unit - As the fleet file has it today.
 * @param p.setting - What to try.
 * @param p.verdicts - Of this unit, in any order.
 */
export function createBacktest(p: {
  readonly unit: Unit;
  readonly setting: BacktestSetting;
  readonly verdicts: readonly Verdict[];
}): Backtest {
  const { setting, unit } = p;
  const { falseFindingsPer100UnitsAndWeek, settings } = setting;
  const context: Context = { unit, falseFindingsPer100UnitsAndWeek, settings };
  const waiting = [...p.verdicts].sort((a, b) => a.atMs - b.atMs);
  const watch = setting.runRules ? createRunRuleWatch() : undefined;
  const alarms = new Map<string, Alarm>();
  const clock: { atMs: number; hours: number }[] = [];
  let state = initialState();
  let learntMs: number | undefined;
  let fromMs: number | undefined;

  function takePart(part: SampleBlock): void {
    fromMs ??= part.t[0];
    while (waiting[0] !== undefined && waiting[0].atMs < (part.t[0] ?? 0)) {
      state = applyVerdict(state, waiting.shift() as Verdict, context);
    }
    const result = step(state, part, context);
    state = result.state;
    for (const finding of result.findings) takeFinding(alarms, finding);
    watch?.take(state.channels);
    if (learntMs === undefined && Object.keys(state.channels).length > 0) learntMs = state.hourEndMs;
    clock.push({ atMs: state.steady.lastMs, hours: state.steady.runningMs / HOUR_MS });
  }

  return {
    take(block) {
      // A logger that writes once a minute puts a day and a half into one block, longer than the run rules look back.
      const spanMs = MAX_HOURS_BETWEEN * HOUR_MS;
      for (const part of cutBlock(block, { spanMs, atMs: waiting.map(({ atMs }) => atMs) })) takePart(part);
    },
    finish() {
      const ofRules = (watch?.alarms() ?? []).map((alarm): Alarm => ({ ...alarm, detector: 'run_rules' }));
      return {
        unit: unit.id,
        setting: setting.name,
        alarms: [...alarms.values(), ...ofRules].sort((a, b) => a.atMs - b.atMs),
        fromMs: fromMs ?? 0,
        toMs: fromMs === undefined ? 0 : state.steady.lastMs,
        learntMs,
        clock,
      };
    },
  };
}

/** The newest report of a finding decides its end and its cause; a finding that comes back stands anew. */
function takeFinding(alarms: Map<string, Alarm>, finding: Finding): void {
  const known = alarms.get(finding.id);
  const [leading] = finding.causes;
  alarms.set(finding.id, {
    kind: finding.kind,
    detector: finding.detector,
    subject: finding.subject,
    atMs: known?.atMs ?? finding.updatedAtMs,
    endMs: finding.state === 'cleared' ? finding.updatedAtMs : null,
    ...(leading === undefined ? {} : { leadingCause: leading.cause }),
  });
}

/**
 * Running hours of a run at a time, read off its clock along straight lines.
 *
 * @returns Hours since the first sample; before the data 0, after it all of them.
 */
export function runningHoursAt(run: Pick<BacktestRun, 'clock' | 'fromMs'>, atMs: number): number {
  let before = { atMs: run.fromMs, hours: 0 };
  for (const tick of run.clock) {
    if (tick.atMs >= atMs) {
      if (atMs <= before.atMs) return before.hours;
      return before.hours + ((atMs - before.atMs) / (tick.atMs - before.atMs)) * (tick.hours - before.hours);
    }
    before = tick;
  }
  return before.hours;
}
