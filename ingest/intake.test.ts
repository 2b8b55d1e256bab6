import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { MAX_BLOCK_SAMPLES, type SampleBlock, sampleBlockSchema } from '../schemas/sample-block.ts';
import type { SignalKey } from '../schemas/signals.ts';
import { clockLimits } from './checks.ts';
import { COVERED_RUNS_MAX, coverTimes, isCovered } from './covered-runs.ts';
import type { Samples } from './formats/decoder.ts';
import { flushIntake, REORDER_ROWS, takeIn } from './intake.ts';
import { decodeIntake, type IntakeState, initialIntake } from './intake-state.ts';

const T0 = Date.UTC(2024, 4, 1);
const clock = clockLimits(Date.UTC(2026, 0, 1));
const start = () => initialIntake({ unit: 'truck-1', source: 'table' });

function samples(seconds: readonly number[], columns: { [K in SignalKey]?: readonly (number | null)[] } = {}): Samples {
  const entries = Object.entries(columns).map(
    ([key, values]) => [key as SignalKey, Float64Array.from(values ?? [], (value) => value ?? Number.NaN)] as const,
  );
  return {
    unit: 'truck-1',
    timesMs: Float64Array.from(seconds, (second) => T0 + second * 1000),
    columns: new Map(entries),
  };
}

/** Takes runs in one after the other, then flushes. */
function run(runs: readonly Samples[], from: IntakeState = start()) {
  let state = from;
  const blocks: SampleBlock[] = [];
  const sum = { accepted: 0, duplicates: 0, late: 0 };
  for (const item of runs) {
    const taken = takeIn(state, item, { clock, isLast: false });
    // The state is what the log keeps: it has to survive being written as JSON.
    const stored = decodeIntake(JSON.parse(JSON.stringify(taken.state)));
    if (!stored.ok) throw new Error(stored.reject.detail);
    state = stored.value;
    blocks.push(...taken.blocks);
    sum.accepted += taken.accepted;
    sum.duplicates += taken.duplicates;
    sum.late += taken.late;
  }
  const last = flushIntake(state);
  blocks.push(...last.blocks);
  for (const block of blocks) expect(sampleBlockSchema.safeParse(block).success).toBe(true);
  return {
    state: last.state,
    blocks,
    seconds: blocks.flatMap((block) => block.t.map((time) => (time - T0) / 1000)),
    ...sum,
  };
}

const range = (from: number, to: number) => Array.from({ length: to - from }, (_, i) => from + i);

describe('order', () => {
  test('rows out of order within the window are put right, across runs too', () => {
    const got = run([samples([0, 2, 1, 5]), samples([3, 4, 6])]);
    expect(got).toMatchObject({ seconds: [0, 1, 2, 3, 4, 5, 6], accepted: 7, duplicates: 0, late: 0 });
  });
  test('any order within the window gives the same samples', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray(range(0, 100), { minLength: 1 }), fc.nat(100), (seconds, cut) => {
        const speeds = (part: readonly number[]) => ({ engineSpeed: part.map((second) => 1000 + second) });
        const parts = [seconds.slice(0, cut), seconds.slice(cut)];
        const got = run(parts.map((part) => samples(part, speeds(part))));
        const sorted = [...seconds].sort((a, b) => a - b);
        expect(got.seconds).toEqual(sorted);
        expect(got.blocks.flatMap((block) => block.signals.engineSpeed ?? [])).toEqual(
          sorted.map((second) => 1000 + second),
        );
      }),
    );
  });
  test('values stay beside their time', () => {
    const got = run([samples([2, 1], { engineSpeed: [1200, 1100] }), samples([3], { oilPressure: [300] })]);
    expect(got.blocks[0]?.signals).toEqual({ engineSpeed: [1100, 1200, null], oilPressure: [null, null, 300] });
  });
  test('blocks are never longer than the limit', () => {
    const got = run([samples(range(0, 5000), { engineSpeed: range(0, 5000).map(() => 900) })]);
    expect(got.seconds).toEqual(range(0, 5000));
    expect(Math.max(...got.blocks.map((block) => block.t.length))).toBeLessThanOrEqual(MAX_BLOCK_SAMPLES);
  });
});

describe('rows that were seen', () => {
  test('the same time again is a duplicate, and the first row stays', () => {
    const got = run([samples([0, 1, 1], { engineSpeed: [700, 800, 900] }), samples([1], { engineSpeed: [950] })]);
    expect(got).toMatchObject({ seconds: [0, 1], accepted: 2, duplicates: 2 });
    expect(got.blocks[0]?.signals.engineSpeed).toEqual([700, 800]);
  });
  test('an overlapping file adds only what is new', () => {
    const first = run([samples(range(0, 1000))]);
    const second = run([samples(range(500, 1500))], first.state);
    expect(second).toMatchObject({ accepted: 500, duplicates: 500, late: 0, seconds: range(1000, 1500) });
  });
  test('rows of a sample count as many as it was made of', () => {
    const counted = { ...samples([0, 0, 1]), rowCounts: Float64Array.from([40, 30, 20]) };
    expect(run([counted])).toMatchObject({ accepted: 60, duplicates: 30 });
  });
});

describe('late rows', () => {
  test('a file of an earlier day is accepted, counted as late, and in blocks of its own', () => {
    const first = run([samples(range(86_400, 86_500))]);
    const second = run([samples(range(0, 100))], first.state);
    expect(second).toMatchObject({ accepted: 100, late: 100, duplicates: 0, seconds: range(0, 100) });
    expect(run([samples(range(0, 100))], second.state)).toMatchObject({ accepted: 0, duplicates: 100 });
  });
  test('a gap that is filled later is late, not seen', () => {
    const first = run([samples([...range(0, 600), ...range(3600, 4200)])]);
    expect(run([samples(range(600, 3600))], first.state)).toMatchObject({ accepted: 3000, late: 3000, duplicates: 0 });
  });
  test('late rows are not judged by a barometric pressure from after them', () => {
    const first = run([samples([86_400], { barometricPressure: [90] })]);
    const second = run([samples([0], { intakeManifoldPressureAbsolute: [250] })], first.state);
    expect(second.blocks[0]?.signals).toEqual({ intakeManifoldPressureAbsolute: [250] });
  });
});

describe('refusals', () => {
  test('a value out of range is refused and the row stays', () => {
    const got = takeIn(start(), samples([0, 1], { engineSpeed: [9000, 1200], oilPressure: [300, 310] }), {
      clock,
      isLast: true,
    });
    expect(got).toMatchObject({ accepted: 2, rejectedValues: { value_out_of_range: 1 }, rejectedRows: {} });
    expect(got.rejects).toMatchObject([{ extent: 'value', index: 0, reject: { field: 'engineSpeed' } }]);
    expect(got.blocks[0]?.signals).toEqual({ engineSpeed: [null, 1200], oilPressure: [300, 310] });
  });
  test('a time from beyond now, or from before the fleet, is refused with its row', () => {
    const got = takeIn(start(), samples([0, 1e9, -1e9]), { clock, isLast: true });
    expect(got).toMatchObject({ accepted: 1, rejectedRows: { clock_ahead: 1, clock_before_fleet: 1 } });
  });
});

describe('gauge boost from absolute manifold pressure', () => {
  test('is the absolute pressure less the newest barometric one, across runs', () => {
    const got = run([
      samples([0, 1], { barometricPressure: [98, null], intakeManifoldPressureAbsolute: [null, 198] }),
      samples([2], { intakeManifoldPressureAbsolute: [208] }),
    ]);
    expect(got.blocks.flatMap((block) => block.signals.boostPressure ?? [])).toEqual([null, 100, 110]);
  });
  test('is not made of a barometric pressure older than 30 minutes', () => {
    const got = run([
      samples([0, 1800, 1801], {
        barometricPressure: [98, null, null],
        intakeManifoldPressureAbsolute: [198, 198, 198],
      }),
    ]);
    expect(got.blocks[0]?.signals.boostPressure).toEqual([100, 100, null]);
    expect(got.blocks[0]?.signals.intakeManifoldPressureAbsolute).toEqual([198, 198, 198]);
  });
  test('gives way to boost that was logged', () => {
    const got = run([
      samples([0], { barometricPressure: [98], intakeManifoldPressureAbsolute: [198], boostPressure: [102] }),
    ]);
    expect(got.blocks[0]?.signals.boostPressure).toEqual([102]);
  });
});

test('every row is accepted, a duplicate or rejected, whatever comes', () => {
  const item = fc.array(fc.integer({ min: -40, max: 700 }), { maxLength: 400 });
  fc.assert(
    fc.property(fc.array(item, { maxLength: 6 }), (runs) => {
      let state = start();
      for (const seconds of runs) {
        const taken = takeIn(state, samples(seconds), { clock, isLast: seconds.length % 2 === 0 });
        expect(taken.accepted + taken.duplicates).toBe(seconds.length);
        state = taken.state;
        expect(state.pending.timesMs.length).toBeLessThanOrEqual(REORDER_ROWS);
      }
    }),
  );
});

test('whatever comes, no time goes to the log twice while its run is remembered', () => {
  fc.assert(
    fc.property(fc.array(fc.array(fc.integer({ min: 0, max: 2000 }), { maxLength: 300 }), { maxLength: 5 }), (runs) => {
      const { seconds } = run(runs.map((item) => samples(item)));
      expect(new Set(seconds).size).toBe(seconds.length);
    }),
  );
});

describe('covered runs', () => {
  test('hold the times that were added and not the gaps between', () => {
    const runs = coverTimes({ runs: [], timesMs: [0, 1000, 2000, 60_000, 61_000], gapMs: 5000 });
    expect(runs).toEqual([
      [0, 2000],
      [60_000, 61_000],
    ]);
    expect([0, 1500, 2000, 60_500].map((time) => isCovered(runs, time))).toEqual([true, true, true, true]);
    expect([-1, 2001, 30_000, 61_001].map((time) => isCovered(runs, time))).toEqual([false, false, false, false]);
  });
  test('are bounded, and the oldest are forgotten first', () => {
    const runs = coverTimes({ runs: [], timesMs: range(0, 1000).map((i) => i * 60_000), gapMs: 5000 });
    expect(runs.length).toBe(COVERED_RUNS_MAX);
    expect(isCovered(runs, 999 * 60_000)).toBe(true);
    expect(isCovered(runs, 0)).toBe(false);
  });
});

test('a state of a newer program is refused, a damaged one too', () => {
  expect(decodeIntake({ ...start(), version: 2 })).toMatchObject({ ok: false, reject: { code: 'version_unknown' } });
  expect(decodeIntake({ version: 1 })).toMatchObject({ ok: false, reject: { code: 'record_unreadable' } });
});
