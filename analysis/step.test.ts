import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { runSimulated, simulatedBlocks, unitOfPlan } from '../bench/simulated-fleet.ts';
import { demoUnit } from '../demo/scenario.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import { SIGNAL_KEYS } from '../schemas/signals.ts';
import { decodeState, initialState } from './state.ts';
import { step } from './step.ts';

/**
 * The samples come from the demo's engine model, which shares no code with the analysis. What is checked are promises of
 * the step itself, not sizes.
 */
const plan = demoUnit('ferry-5');
const unit = unitOfPlan(plan, 'ferry');
const context = { unit, falseFindingsPer100UnitsAndWeek: 1 };
const blocks = [...simulatedBlocks(plan, { days: 16, seed: 5 })];

function run(input: readonly SampleBlock[]) {
  let state = initialState();
  const findings: unknown[] = [];
  const points: unknown[] = [];
  for (const block of input) {
    const result = step(state, block, context);
    // Through JSON, as the log stores it.
    state = decodeState(JSON.parse(JSON.stringify(result.state)));
    findings.push(...result.findings);
    points.push(...result.points);
  }
  return { state, findings, points };
}

function cut(block: SampleBlock, at: number): readonly SampleBlock[] {
  const part = (from: number, to: number): SampleBlock => ({
    ...block,
    t: block.t.slice(from, to),
    signals: Object.fromEntries(
      SIGNAL_KEYS.flatMap((key) =>
        block.signals[key] === undefined ? [] : [[key, block.signals[key].slice(from, to)]],
      ),
    ),
  });
  return at <= 0 || at >= block.t.length ? [block] : [part(0, at), part(at, block.t.length)];
}

describe('step', () => {
  const whole = run(blocks);

  test('how the samples are cut into blocks makes no difference', () => {
    fc.assert(
      fc.property(fc.array(fc.nat(2000), { minLength: 5, maxLength: 5 }), (cuts) => {
        const parts = blocks.flatMap((block, i) => cut(block, cuts[i % cuts.length] ?? 0));
        expect(run(parts)).toEqual(whole);
      }),
      { numRuns: 5 },
    );
  });

  test('a block seen before changes nothing', () => {
    const last = blocks[blocks.length - 1] as SampleBlock;
    const again = step(whole.state, last, context);
    expect(again.points).toEqual([]);
    expect(again.findings).toEqual([]);
    expect(again.state).toEqual(whole.state);
  });

  test('an expectation is learnt after the hours it asks for, and points are judged from then on', () => {
    expect(Object.keys(whole.state.channels)).toContain('coolerApproach');
    expect(whole.state.pool).toBeNull();
  });

  test('the state of a unit stays small', () => {
    expect(JSON.stringify(whole.state).length).toBeLessThan(50_000);
  });

  test('a state of an unknown version is refused', () => {
    expect(() => decodeState({ version: 99 })).toThrow(/version/);
  });
});

describe('a fouling cooler of the demo', () => {
  test('is found under its kind, after its onset and not before', () => {
    const result = runSimulated({ plan, unit, days: 120, seed: 20_261_031, rate: 1, keepPoints: false });
    const onset = plan.faults[0]?.growth.onsetMs ?? 0;
    const kinds = new Set(result.findings.map((finding) => finding.kind));
    expect(kinds).toContain('cooler_fouling');
    for (const finding of result.findings) expect(finding.atMs).toBeGreaterThan(onset);
    const last = result.findings[result.findings.length - 1];
    expect(last?.causes.slice(0, 2).map((one) => one.cause)).toContain('cac_coolant_side_fouled');
  });
});
