import { assert } from '../schemas/assert.ts';
import type { ChannelKey } from '../schemas/channel.ts';
import type { FindingKind, Severity } from '../schemas/finding.ts';
import type { ChartState } from './detection/chart.ts';
import type { Expectation } from './detection/expectation.ts';
import type { LimitStates } from './detection/hard-limits.ts';
import type { LearningPool } from './detection/learning.ts';
import type { SensorStates } from './manipulation/plausibility.ts';
import { initialSteadyState, type SteadyState } from './manipulation/steady-window.ts';

/** A channel that has been learnt, with its chart. */
export type ChannelState = { readonly expectation: Expectation; readonly chart: ChartState };

/** What is remembered of a finding while it is open, and for its verification after a repair. */
export type OpenFinding = {
  readonly id: string;
  readonly kind: FindingKind;
  readonly detector: 'cusum' | 'hard_limit' | 'plausibility';
  readonly subject: string;
  readonly side: 'upper' | 'lower' | null;
  readonly sinceMs: number;
  readonly atMs: number;
  readonly severity: Severity;
  readonly leadingCause: string;
  readonly reportedHour: number;
  /** Time of its newest report, and for a passed limit of its newest excursion: excursions of one trouble are one finding. */
  readonly reportedMs: number;
  readonly seenMs: number;
  /** After a repair: quiet hours still to be seen before it counts as gone. */
  readonly verifying: boolean;
};

/**
 * Everything the analysis remembers of one unit. Plain JSON: it is stored with the log's position, and the same samples
 * give the same state, live, replayed or back-tested.
 */
export type UnitState = {
  readonly version: 1;
  readonly steady: SteadyState;
  readonly sensors: SensorStates;
  /** The hour of the calendar in which sensors were judged last. */
  readonly slot: number;
  readonly limits: LimitStates;
  /** Running hour of the ticks under way, and the time of the newest point in it. */
  readonly hour: number;
  readonly hourEndMs: number;
  readonly pool: LearningPool | null;
  /** Running hours in a usual week, measured while learning: turns a rate a week into one a tick. */
  readonly ticksPerWeek: number | null;
  readonly channels: { readonly [K in ChannelKey]?: ChannelState };
  readonly findings: readonly OpenFinding[];
  /** Factors on the priors, from what fitters found on this unit. */
  readonly learntWeights: { readonly [cause: string]: number };
  readonly troubleCodes: readonly string[];
};

/** The state of a unit that has not been seen yet. */
export function initialState(): UnitState {
  return {
    version: 1,
    steady: initialSteadyState(),
    sensors: {},
    slot: 0,
    limits: {},
    hour: 0,
    hourEndMs: 0,
    pool: null,
    ticksPerWeek: null,
    channels: {},
    findings: [],
    learntWeights: {},
    troubleCodes: [],
  };
}

/**
 * A stored state as read back.
 *
 * @param stored - Plain JSON from the log, or `undefined` for a unit without a state.
 * @throws AssertionError for an unknown version: a newer program has written it, and guessing would lose what it knew.
 */
export function decodeState(stored: unknown): UnitState {
  if (stored === undefined || stored === null) return initialState();
  assert(
    typeof stored === 'object' && 'version' in stored && stored.version === 1,
    'the stored analysis state has a version that this program knows (1); run the newer program or replay the log',
  );
  return stored as UnitState;
}
