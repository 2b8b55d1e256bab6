import { describe, expect, test } from 'vitest';
import { simulatedBlocks, unitOfPlan } from '../../bench/simulated-fleet.ts';
import { demoUnit } from '../../demo/scenario.ts';
import type { Finding } from '../../schemas/finding.ts';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import { createReplay } from '../replay.ts';
import { initialState } from '../state.ts';
import { step } from '../step.ts';
import { channelOf, explainFinding } from './explain.ts';

/** The ferry of the demo, whose cooler fouls on the water side; its engine model shares no code with the analysis. */
const plan = demoUnit('ferry-5');
const unit = unitOfPlan(plan, 'ferry');
const context = { unit, falseFindingsPer100UnitsAndWeek: 1 };
const blocks: readonly SampleBlock[] = [...simulatedBlocks(plan, { days: 60, seed: 20_261_031 })];
const reports: Finding[] = [];
let state = initialState();
for (const block of blocks) {
  const result = step(state, block, context);
  state = result.state;
  reports.push(...result.findings);
}
const cooler = reports.filter(({ subject, state: at }) => subject === 'coolerApproach' && at === 'open');
const finding = cooler[cooler.length - 1] as Finding;

function replayed(of: Finding) {
  const replay = createReplay({ context, verdicts: [], finding: of });
  for (const block of blocks) if (replay.take(block)) break;
  return replay.result();
}

describe('a replay', () => {
  test('stops at any report with the same report in hand', () => {
    expect(cooler.length).toBeGreaterThan(1);
    for (const report of [cooler[0] as Finding, finding]) expect(replayed(report)?.finding).toEqual(report);
  });

  test('of a report that never came gives nothing', () => {
    expect(replayed({ ...finding, updatedAtMs: finding.updatedAtMs + 1 })).toBeUndefined();
  });
});

describe('an explained finding', () => {
  const at = replayed(finding);
  const explanation = explainFinding({ finding, state: at?.state ?? state, unit });

  test('shows the pattern that the report had, channel by channel', () => {
    for (const { channel, departure, standardUncertainty } of explanation.pattern)
      expect(departure / standardUncertainty).toBeCloseTo(finding.evidence.pattern[channel] ?? Number.NaN, 1);
    expect(explanation.pattern.map(({ channel }) => channel).sort()).toEqual(
      Object.keys(finding.evidence.pattern).sort(),
    );
  });

  test('names how much the expectation rests on', () => {
    expect(explanation.expectation?.points).toBeGreaterThan(50);
    const [low, high] = explanation.expectation?.load ?? [1, 0];
    expect(low).toBeLessThan(high);
  });

  // By Bayes' rule the contributions say where the odds against 'unknown' come from; a fact of the trade: hot charge
  // air over its medium is what a fouled cooler shows (Woodyard, Pounder's Marine Diesel Engines, turbocharging).
  test('the rise above the medium speaks for the fouled cooler, and no sensor of another system is counted', () => {
    const cause = explanation.causes.find((one) => one.cause === 'cac_coolant_side_fouled');
    const of = (channel: string) => cause?.channels.find((one) => one.channel === channel);
    expect(of('coolerApproach')?.signature).toBeGreaterThan(0);
    expect(of('coolerApproach')?.logLikelihood ?? 1).toBeGreaterThan(0);
    expect(of('oilPressure')?.logLikelihood ?? 0).toBe(0);
    expect(cause?.fittedSize).toBeGreaterThan(0);
  });

  test('channelOf leads from a signal to the channel that is read from it', () => {
    expect(channelOf('boostPressure')).toBe('boost');
    expect(channelOf('coolerApproach')).toBe('coolerApproach');
    expect(channelOf('vehicleSpeed')).toBeUndefined();
  });
});
