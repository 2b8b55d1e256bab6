import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { SIGNAL_KEYS } from '../../schemas/signals.ts';
import type { Samples } from '../formats/decoder.ts';
import { emptyLiveUnit, encodeOpen, encodeSeen, restoreLiveUnit, sendOn, takeRows } from './live-unit.ts';
import { addSeenTime, decodeSeenTimes, encodeSeenTimes, noSeenTimes, SEEN_RUNS_MAX, seenAt } from './seen-times.ts';

// What must hold needs no source: what was sent is there once, whatever order and cut it came in.

const START_MS = Date.UTC(2026, 2, 1, 6);
const names = { unit: 'digger-1', source: 'gate' };

function rows(times: readonly number[], key: 'engineSpeed' | 'oilPressure' = 'engineSpeed'): Samples {
  return {
    unit: 'digger-1',
    timesMs: Float64Array.from(times, (second) => START_MS + second * 1000),
    columns: new Map([[key, Float64Array.from(times, (second) => 600 + second)]]),
  };
}

describe('the rows of one unit and live source', () => {
  test('are each taken once, in whatever order, cut and repetition they come, also over restarts', () => {
    const step = fc.oneof(
      fc.array(fc.integer({ min: 0, max: 300 }), { minLength: 1, maxLength: 20 }).map((times) => ({ times })),
      fc.constantFrom({ send: false }, { send: true }, { restart: true }),
    );
    fc.assert(
      fc.property(fc.array(step, { maxLength: 40 }), (steps) => {
        let unit = emptyLiveUnit(names);
        const sent = new Set<number>();
        const kept: number[] = [];
        let accepted = 0;
        let received = 0;
        let duplicates = 0;
        for (const one of steps) {
          if ('times' in one) {
            const taken = takeRows(unit, rows(one.times));
            accepted += taken.accepted;
            duplicates += taken.duplicates;
            received += one.times.length;
            for (const time of one.times) sent.add(time);
          } else if ('send' in one) {
            for (const block of sendOn(unit, { all: one.send })) kept.push(...block.t);
          } else {
            const stored = JSON.parse(JSON.stringify([unit.intake, encodeOpen(unit), encodeSeen(unit)])) as unknown[];
            unit = restoreLiveUnit({ ...names, intake: stored[0], open: stored[1], seen: stored[2] });
          }
        }
        for (const block of sendOn(unit, { all: true })) kept.push(...block.t);
        expect([accepted, duplicates]).toEqual([sent.size, received - sent.size]);
        expect(kept.sort((a, b) => a - b)).toEqual([...sent].sort((a, b) => a - b).map((s) => START_MS + s * 1000));
      }),
      { numRuns: 200 },
    );
  });

  test('values of one time that come in turn are all kept, each once', () => {
    const reading = fc.record({
      time: fc.integer({ min: 0, max: 60 }),
      key: fc.constantFrom('engineSpeed' as const, 'oilPressure' as const),
      send: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(reading, { maxLength: 60 }), (readings) => {
        const unit = emptyLiveUnit(names);
        const sent = new Set<string>();
        const kept: string[] = [];
        const keep = (all: boolean) => {
          for (const { t, signals } of sendOn(unit, { all })) {
            for (const [key, values] of Object.entries(signals)) {
              for (const [i, value] of (values ?? []).entries()) if (value !== null) kept.push(`${key}@${t[i]}`);
            }
          }
        };
        for (const { time, key, send } of readings) {
          takeRows(unit, rows([time], key));
          sent.add(`${key}@${START_MS + time * 1000}`);
          if (send) keep(time % 2 === 0);
        }
        keep(true);
        expect(kept.sort()).toEqual([...sent].sort());
      }),
      { numRuns: 200 },
    );
  });
});

describe('times that were seen', () => {
  const present = new Uint8Array(SIGNAL_KEYS.length).fill(1);
  const into = new Uint8Array(SIGNAL_KEYS.length);

  test('a month of one reading a second is one run, and a second that is missing stays unseen', () => {
    const seen = noSeenTimes(-Infinity);
    const month = 30 * 86_400;
    for (let second = 0; second < month; second += 1) addSeenTime(seen, { timeMs: second * 1000, present });
    addSeenTime(seen, { timeMs: (month + 1) * 1000, present });
    expect(seen.runs).toHaveLength(2);
    expect([0, 1_234_567, month - 1, month, month + 1].map((second) => seenAt(seen, second * 1000, into))).toEqual([
      true,
      true,
      true,
      false,
      true,
    ]);
    expect(seenAt(seen, 500, into)).toBe(false);
  });

  test('memory is bounded, and the floor says up to where nothing is known', () => {
    const seen = noSeenTimes(-Infinity);
    const times = Array.from({ length: 5000 }, (_, i) => i * i);
    for (const timeMs of times) addSeenTime(seen, { timeMs, present });
    expect(seen.runs.length).toBe(SEEN_RUNS_MAX);
    const known = times.filter((timeMs) => timeMs > seen.floorMs);
    expect(known.length).toBeGreaterThanOrEqual(SEEN_RUNS_MAX);
    expect(known.every((timeMs) => seenAt(seen, timeMs, into))).toBe(true);
  });

  test('come back from storage as they were', () => {
    const seen = noSeenTimes(5);
    for (const timeMs of [10, 20, 30, 45]) addSeenTime(seen, { timeMs, present });
    addSeenTime(seen, { timeMs: 50, present: new Uint8Array(SIGNAL_KEYS.length) });
    expect(decodeSeenTimes(encodeSeenTimes(seen))).toEqual(seen);
  });
});
