import { createHash } from 'node:crypto';
import { expect, test } from 'vitest';
import { simulatedBlocks, unitOfPlan } from '../bench/simulated-fleet.ts';
import { demoUnit } from '../demo/scenario.ts';
import { type AnalysisSettings, DEFAULT_SETTINGS, settingsOf } from './settings.ts';
import { initialState } from './state.ts';
import { step } from './step.ts';

/** No outside source: what is checked is that naming a default changes nothing, and that each setting does something. */
const plan = demoUnit('ferry-5');
const unit = unitOfPlan(plan, 'ferry');
const blocks = [...simulatedBlocks(plan, { days: 50, seed: 5 })];

/** Hash of every finding and point, and of the state at the end. */
function hashOf(settings?: Partial<AnalysisSettings>): string {
  const hash = createHash('sha256');
  let state = initialState();
  let findings = 0;
  for (const block of blocks) {
    const context = { unit, falseFindingsPer100UnitsAndWeek: 1, ...(settings === undefined ? {} : { settings }) };
    const result = step(state, block, context);
    state = result.state;
    findings += result.findings.length;
    for (const one of [...result.findings, ...result.points]) hash.update(JSON.stringify(one));
  }
  expect(findings).toBeGreaterThan(0);
  return hash.update(JSON.stringify(state)).digest('hex');
}

test('naming the default settings, or none of them, gives findings, points and state of the live analysis, byte for byte', () => {
  const live = hashOf();
  expect(hashOf({})).toBe(live);
  expect(hashOf(DEFAULT_SETTINGS)).toBe(live);
  const others: readonly Partial<AnalysisSettings>[] = [
    { minRunningHours: DEFAULT_SETTINGS.minRunningHours + 30 },
    { cusumReferenceValue: DEFAULT_SETTINGS.cusumReferenceValue + 0.5 },
    { clipStandardDeviations: DEFAULT_SETTINGS.clipStandardDeviations - 3 },
    { minPoints: 300 },
    { minChannelPoints: 200 },
  ];
  for (const settings of others) expect(hashOf(settings), JSON.stringify(settings)).not.toBe(live);
}, 60_000);

test('settingsOf fills what a context does not name', () => {
  expect(settingsOf({})).toBe(DEFAULT_SETTINGS);
  expect(settingsOf({ settings: { minPoints: 90 } })).toEqual({ ...DEFAULT_SETTINGS, minPoints: 90 });
});
