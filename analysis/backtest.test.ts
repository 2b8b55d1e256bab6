import { describe, expect, test } from 'vitest';
import { runSimulated, simulatedBlocks, unitOfPlan } from '../bench/simulated-fleet.ts';
import { DEMO_START_MS, dayMs } from '../demo/calendar.ts';
import { demoTruth, demoUnit } from '../demo/scenario.ts';
import type { Verdict } from '../schemas/verdict.ts';
import { type BacktestRun, type BacktestSetting, createBacktest, runningHoursAt } from './backtest.ts';
import { scoreBacktest } from './backtest-score.ts';
import { type Truth, truthFromVerdicts } from './backtest-truth.ts';

/** The ferry of the demo has a cooler that fouls; its engine model shares no code with the analysis and says when. */
const HOUR_MS = 3_600_000;
const DAYS = 70;
const plan = demoUnit('ferry-5');
const unit = unitOfPlan(plan, 'ferry');
const blocks = [...simulatedBlocks(plan, { days: DAYS, seed: 20_261_031 })];
const live: BacktestSetting = { name: 'live', falseFindingsPer100UnitsAndWeek: 1, settings: {}, runRules: false };
const lastMs = blocks.at(-1)?.t.at(-1) ?? 0;
const [planned] = demoTruth().filter((one) => one.unit === plan.id);
const truth: Truth = {
  faults: [
    { unit: unit.id, fault: planned?.fault ?? '', fromMs: planned?.onsetMs ?? 0, toMs: lastMs, onset: 'stated' },
  ],
  refuted: [],
  complete: true,
};

function run(setting: BacktestSetting, verdicts: readonly Verdict[] = []): BacktestRun {
  const backtest = createBacktest({ unit, setting, verdicts });
  for (const block of blocks) backtest.take(block);
  return backtest.finish();
}

const liveRun = run(live);

describe('a back-test', () => {
  test('with the live settings raises what the live analysis raised, at the same times', () => {
    const first = new Map<string, number>();
    for (const { id, updatedAtMs } of runSimulated({
      plan,
      unit,
      days: DAYS,
      seed: 20_261_031,
      rate: 1,
      keepPoints: false,
    }).findings)
      if (!first.has(id)) first.set(id, updatedAtMs);
    expect(first.size).toBeGreaterThan(0);
    expect(liveRun.alarms.map(({ atMs }) => atMs)).toEqual([...first.values()].sort((a, b) => a - b));
  });

  test('finds the fault of the demo after its onset, and says after how long', () => {
    const score = scoreBacktest([liveRun], truth);
    expect(score).toMatchObject({ detected: 1, missed: 0, upsets: { false: 0 } });
    const [outcome] = score.faults;
    expect(outcome?.delayDays).toBeGreaterThan(0);
    expect(score.medianDelayDays).toBe(outcome?.delayDays);
    // A ship works no more than 24 hours a day.
    expect(outcome?.delayRunningHours).toBeLessThan(24 * (outcome?.delayDays ?? 0));
    expect(score.falsePer100UnitsAndWeek).toMatchObject({ estimate: 0, lower: 0 });
  });

  test('a setting that asks for fewer false findings finds the fault no sooner', () => {
    const strict = scoreBacktest([run({ ...live, name: 'strict', falseFindingsPer100UnitsAndWeek: 0.01 })], truth);
    const base = scoreBacktest([liveRun], truth);
    expect(strict.detected).toBe(1);
    expect(strict.faults[0]?.delayDays).toBeGreaterThanOrEqual(base.faults[0]?.delayDays ?? 0);
  });

  test('longer learning moves the time from which the unit is judged', () => {
    const longer = run({ ...live, name: 'longer', settings: { minRunningHours: 200 } });
    expect(longer.learntMs).toBeGreaterThan(liveRun.learntMs ?? 0);
  });

  // Expected by the books: with all four zone rules a healthy chart alarms about every 92 points (Champ & Woodall 1987,
  // Technometrics 29, 393-399), so over some hundred hours there is an alarm where the live charts have none.
  test('run rules are a detector beside the live ones and alarm more often', () => {
    const withRules = run({ ...live, name: 'rules', runRules: true });
    const ofRules = withRules.alarms.filter(({ detector }) => detector === 'run_rules');
    expect(withRules.alarms.filter(({ detector }) => detector !== 'run_rules')).toEqual(liveRun.alarms);
    const early = (alarms: readonly { atMs: number }[]) =>
      alarms.filter(({ atMs }) => atMs < (planned?.onsetMs ?? 0)).length;
    expect(early(ofRules)).toBeGreaterThan(early(liveRun.alarms));
  });

  test('what a fitter did is taken in at its time: a replaced cooler is learnt anew', () => {
    const firstAlarm = liveRun.alarms[0];
    const verdict: Verdict = {
      version: 1,
      task: 'task',
      unit: unit.id,
      atMs: (planned?.onsetMs ?? 0) + 5 * 24 * HOUR_MS,
      who: 'fitter',
      found: 'cac_coolant_side_fouled',
      work: ['cooler_replaced'],
      measurements: [],
      note: '',
    };
    const repaired = run(live, [verdict]);
    // What is fitted now is taken as healthy, so what was gathered against the old cooler counts no more.
    expect(verdict.atMs).toBeLessThan(firstAlarm?.atMs ?? 0);
    expect(repaired.alarms[0]?.atMs).toBeGreaterThan(firstAlarm?.atMs ?? 0);
  });

  test('running hours are read off between the clock and end with the data', () => {
    expect(runningHoursAt(liveRun, DEMO_START_MS - 1)).toBe(0);
    const all = liveRun.clock.at(-1)?.hours ?? 0;
    expect(runningHoursAt(liveRun, lastMs + 1)).toBe(all);
    const middle = runningHoursAt(liveRun, dayMs(DAYS / 2));
    expect(middle).toBeGreaterThan(0.3 * all);
    expect(middle).toBeLessThan(0.7 * all);
  });
});

const healthy = (p: Partial<BacktestRun> & { unit: string }): BacktestRun => ({
  setting: 'live',
  alarms: [],
  fromMs: 0,
  toMs: 1008 * HOUR_MS,
  learntMs: 0,
  clock: [{ atMs: 1008 * HOUR_MS, hours: 504 }],
  ...p,
});
const alarm = (fromHour: number, toHour: number, subject = 'boost') => ({
  kind: 'boost_shortfall' as const,
  detector: 'cusum' as const,
  subject,
  atMs: fromHour * HOUR_MS,
  endMs: toHour * HOUR_MS,
});

describe('scores', () => {
  const known = {
    unit: 'a',
    fault: 'intake_restriction',
    fromMs: 336 * HOUR_MS,
    toMs: 504 * HOUR_MS,
    onset: 'stated' as const,
  };

  // Two units of six weeks, one of them a week under a fault: eleven healthy unit-weeks, by hand. One false upset in 11
  // weeks is 100/11 per 100 units and week; Garwood's 90 % interval of one event reaches from 0.0513 to 4.744.
  test('count upsets, rates and delays as by hand', () => {
    const runs = [
      healthy({ unit: 'a', alarms: [alarm(100, 130), alarm(120, 140, 'exhaustTemperature'), alarm(360, 500)] }),
      healthy({ unit: 'b' }),
    ];
    const score = scoreBacktest(runs, { faults: [known], refuted: [], complete: true });
    expect(score).toMatchObject({
      findings: 3,
      upsets: { true: 1, false: 1, unjudged: 0 },
      precision: 0.5,
      detected: 1,
    });
    expect(score.healthyUnitWeeks).toBeCloseTo(11, 9);
    expect(score.falsePer100UnitsAndWeek?.estimate).toBeCloseTo(100 / 11, 9);
    expect(score.falsePer100UnitsAndWeek?.lower).toBeCloseTo(5.13 / 11, 2);
    expect(score.falsePer100UnitsAndWeek?.upper).toBeCloseTo(474.4 / 11, 1);
    expect(score.medianDelayDays).toBeCloseTo(1, 9);
    expect(score.medianDelayRunningHours).toBeCloseTo(12, 9);
  });

  test('an alarm about something that the fault does not move is false and detects nothing', () => {
    const runs = [healthy({ unit: 'a', alarms: [alarm(360, 500, 'oilPressure')] })];
    const score = scoreBacktest(runs, { faults: [known], refuted: [], complete: true });
    expect(score).toMatchObject({ detected: 0, missed: 1, upsets: { true: 0, false: 1 } });
  });

  test('a visit before the fault began was for nothing, though its finding stood until then', () => {
    const alarms = [alarm(100, 400, 'oilPressure'), alarm(360, 500), alarm(380, 450, 'oilPressure')];
    const score = scoreBacktest([healthy({ unit: 'a', alarms })], { faults: [known], refuted: [], complete: true });
    expect(score).toMatchObject({ findings: 3, upsets: { true: 1, false: 1 }, detected: 1 });
  });

  test('a fault that was over before anything was learnt is not judged', () => {
    const score = scoreBacktest([healthy({ unit: 'a', learntMs: 600 * HOUR_MS })], {
      faults: [known],
      refuted: [],
      complete: true,
    });
    expect(score).toMatchObject({ detected: 0, missed: 0 });
    expect(score.faults[0]?.outcome).toBe('not_judged');
  });

  test('without a complete list an alarm is false only where a fitter found nothing', () => {
    const verdict = { version: 1 as const, task: 't', unit: 'a', who: 'f', work: [], measurements: [], note: '' };
    const found = truthFromVerdicts(
      [
        { ...verdict, atMs: 150 * HOUR_MS, found: 'none_found' },
        { ...verdict, atMs: 504 * HOUR_MS, found: 'intake_restriction' },
      ],
      ({ atMs }) => atMs - 100 * HOUR_MS,
    );
    expect(found.faults).toMatchObject([{ fromMs: 404 * HOUR_MS, toMs: 504 * HOUR_MS, onset: 'estimated' }]);
    const alarms = [alarm(100, 140), alarm(410, 500), alarm(700, 720)];
    const score = scoreBacktest([healthy({ unit: 'a', alarms })], found);
    expect(score.upsets).toEqual({ true: 1, false: 1, unjudged: 1 });
    expect(score.atMostPer100UnitsAndWeek?.estimate).toBeCloseTo(2 * (score.falsePer100UnitsAndWeek?.estimate ?? 0), 9);
  });
});
