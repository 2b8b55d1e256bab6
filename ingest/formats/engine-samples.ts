import type { Reject } from '../../schemas/reject.ts';
import { SIGNAL_KEYS, type SignalKey } from '../../schemas/signals.ts';
import { rangeReject } from '../checks.ts';
import type { DecodedBatch } from './decoder.ts';
import { addValue, emptyStatistics, type RunningStatistics } from './running-statistics.ts';
import { createSecondMeans } from './second-means.ts';
import { createSenderChoice, isBelieved, type SenderChoice, type Stream } from './sender-choice.ts';

/** Bus logs come in order; a minute stays open for what is written late. */
const OPEN_SECONDS_MAX = 60;

/** Seconds begun since a batch was taken, after which it is cut: each is held with every signal of every unit. */
const BATCH_SECONDS = 4096;

/** Index that stands for every unit: what is around a ship's engines, such as the sea, is around each. */
export const EVERY_UNIT = -1;

/** Where the values of one quantity from one sender go: the unit's index, or {@link EVERY_UNIT}. */
export type Target = { readonly unit: number; readonly signal: SignalKey; readonly stream: Stream };

const SIGNAL_INDEX = new Map(SIGNAL_KEYS.map((key, index) => [key, index] as const));

/** Gathers the values of several engines in one log into one sample a unit and second. */
export type EngineSamples = {
  readonly statistics: ReadonlyMap<SignalKey, RunningStatistics>;
  /** Counts a row of the file in, once and after its values, with the unit that it carries something of. */
  countRow(timeMs: number): void;
  /** Counts a row in that has no time and carries nothing. */
  countUntimedRow(): void;
  /**
   * Takes a valid value in a canonical unit.
   *
   * @returns Why it cannot be; `undefined` when it was taken, or another sender is believed.
   */
  offer(target: Target, p: { value: number; timeMs: number }): Reject | undefined;
  /** Whether so many seconds are held that a batch is to be taken. */
  isFull(): boolean;
  take(isLast: boolean): Pick<DecodedBatch, 'samples' | 'emptyRows'>;
};

/** Samples of these units. */
export function createEngineSamples(units: readonly string[]): EngineSamples {
  const statistics = new Map<SignalKey, RunningStatistics>();
  const means = units.map((unit) => createSecondMeans({ unit, keys: SIGNAL_KEYS, openSecondsMax: OPEN_SECONDS_MAX }));
  const choices: SenderChoice[] = Array.from({ length: units.length * SIGNAL_KEYS.length }, createSenderChoice);
  let untimedRows = 0;
  let second = Number.NaN;
  let begunSeconds = 0;
  let rowUnit = 0;
  let isRowTaken = false;
  const count = (signal: SignalKey, value: number, timeMs: number): void => {
    let running = statistics.get(signal);
    if (running === undefined) {
      running = emptyStatistics();
      statistics.set(signal, running);
    }
    addValue(running, { value, timeMs });
  };
  return {
    statistics,
    countRow(timeMs) {
      means[rowUnit]?.countRow(timeMs);
      const next = Math.floor(timeMs / 1000);
      if (next !== second) begunSeconds += 1;
      second = next;
      rowUnit = 0;
      isRowTaken = false;
    },
    countUntimedRow() {
      untimedRows += 1;
    },
    offer({ unit, signal, stream }, { value, timeMs }) {
      const reject = rangeReject({ key: signal, value });
      if (reject !== undefined) return reject;
      const index = SIGNAL_INDEX.get(signal) ?? -1;
      const from = unit === EVERY_UNIT ? 0 : unit;
      const to = unit === EVERY_UNIT ? units.length - 1 : unit;
      let isTaken = false;
      for (let at = from; at <= to; at += 1) {
        const choice = choices[at * SIGNAL_KEYS.length + index];
        if (choice === undefined || !isBelieved(choice, stream, timeMs)) continue;
        means[at]?.add({ signal: index, timeMs, value });
        isTaken = true;
        if (!isRowTaken) rowUnit = at;
        isRowTaken = true;
      }
      if (isTaken) count(signal, value, timeMs);
      return undefined;
    },
    isFull: () => begunSeconds >= BATCH_SECONDS,
    take(isLast) {
      begunSeconds = 0;
      const samples: DecodedBatch['samples'][number][] = [];
      let emptyRows = untimedRows;
      untimedRows = 0;
      for (const item of means) {
        const taken = item.take(isLast);
        emptyRows += taken.emptyRows;
        if (taken.samples !== undefined) samples.push(taken.samples);
      }
      return { samples, emptyRows };
    },
  };
}
