import type { SignalKey } from '../../schemas/signals.ts';
import { addValue, type RunningStatistics } from './running-statistics.ts';

/** First values of a quantity that are kept, so that a person sees what kind of number it is. */
export const FIRST_VALUES = 5;

/** One quantity as one sender sent it: of the valid values, believed or not. */
export type QuantitySummary = {
  /** Field of a message, or path. */
  readonly name: string;
  /** Address on the bus, or `$source`. */
  readonly sender: string;
  readonly pgn: number | undefined;
  readonly instance: number | undefined;
  readonly source: number | undefined;
  /** The signal it is read as; `undefined` when it is counted only. */
  readonly signal: SignalKey | undefined;
  readonly unit: string;
  messages: number;
  notAvailable: number;
  error: number;
  reserved: number;
  /** Values that are a code or filling which a sender took for a number. */
  wrongFill: number;
  readonly statistics: RunningStatistics;
  /** How often the time was another than that of the value before. */
  times: number;
  readonly firstValues: number[];
};

/** A state of the status words of an engine, which are shown and not judged: cheap sensor interfaces set them at will. */
export type EngineStatus = {
  readonly sender: number;
  readonly instance: number;
  readonly status1: number;
  readonly status2: number;
  messages: number;
};

/** What a log of NMEA 2000 holds beside its samples. */
export type N2kSummary = {
  readonly comments: number;
  /** Whole messages; fast packets of messages that are not read are counted by the frame where they are not joined. */
  readonly messages: number;
  readonly messagesPerPgn: ReadonlyMap<number, number>;
  readonly fastPacketsUnfinished: number;
  readonly fastPacketsLost: number;
  readonly framesOutOfSequence: number;
  readonly firstMs: number;
  readonly lastMs: number;
  readonly quantities: readonly QuantitySummary[];
  /** Senders and quantities beyond those listed; they were not read. */
  readonly quantitiesLeftOut: number;
  readonly engineStatus: readonly EngineStatus[];
  /** Messages of engine instances that the rule does not name. */
  readonly enginesLeftOut: ReadonlyMap<string, number>;
};

/** What a file of Signal K deltas holds beside its samples. */
export type SignalKSummary = {
  readonly deltas: number;
  readonly updates: number;
  readonly updatesWithoutTime: number;
  readonly values: number;
  readonly contexts: ReadonlyMap<string, number>;
  /** The context that was read. */
  readonly readContext: string | undefined;
  readonly valuesPerPath: ReadonlyMap<string, number>;
  /** Earliest and latest time. */
  readonly firstMs: number;
  readonly lastMs: number;
  readonly quantities: readonly QuantitySummary[];
  readonly quantitiesLeftOut: number;
  readonly enginesLeftOut: ReadonlyMap<string, number>;
};

/** Counts a valid value in. */
export function addQuantity(quantity: QuantitySummary, p: { value: number; timeMs: number }): void {
  const { statistics } = quantity;
  if (statistics.count === 0 || p.timeMs !== statistics.lastMs) quantity.times += 1;
  addValue(statistics, p);
  if (quantity.firstValues.length < FIRST_VALUES) quantity.firstValues.push(p.value);
}
