import type { DeadLetter } from '../../schemas/dead-letter.ts';
import type { Finding } from '../../schemas/finding.ts';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import type { Verdict } from '../../schemas/verdict.ts';

/** What each topic carries. Every record has a key, the unit; order is kept among the records of one key. */
export type Topics = {
  readonly samples: SampleBlock;
  readonly findings: Finding;
  readonly verdicts: Verdict;
  readonly dead_letters: DeadLetter;
};
export type Topic = keyof Topics;

/** A record to be written. */
export type Emit = {
  readonly [T in Topic]: { readonly topic: T; readonly key: string; readonly value: Topics[T] };
}[Topic];

/** A record as read back. `offset` rises within a topic (embedded) or a partition (grown); it has no other meaning. */
export type LogRecord = Emit & { readonly offset: number };

/** Plain JSON; what a worker remembers of one key. */
export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

/**
 * A stored state and its version, which rises by one at every change. 0 stands for "no state"; a key that was forgotten
 * and comes back goes on counting, so that no version of a key ever means two things.
 */
export type StoredState = { readonly value: Json; readonly version: number };

/** Records for one consumer group, oldest first, and where it will stand once they are committed. */
export type Batch = { readonly records: readonly LogRecord[]; readonly position: Position };

/** Opaque to everybody but the adapter that made it. */
export type Position = { readonly group: string; readonly token: unknown };

/** One atomic step of a consumer: all of it is durable together when `commit` resolves, or none of it happened. */
export type Step = {
  readonly group: string;
  readonly emit: readonly Emit[];
  /** New states by key; `null` forgets the key. */
  readonly state: readonly { readonly key: string; readonly value: Json | null }[];
  /** Position of the batch that this step has dealt with; left out by producers, which consume nothing. */
  readonly position?: Position;
  /** Versions that the caller has seen; where one has changed since, `commit` refuses with code `state_changed`. */
  readonly expect?: readonly { readonly key: string; readonly version: number }[];
};

/**
 * The log: a durable, ordered stream of records by topic and key, with consumers that remember where they stand.
 *
 * Who calls what: ingest calls `states` and `commit` (emitting samples and dead letters); analysis and alerts loop over
 * `poll` → work → `commit`; pages and commands read with `states`, `allStates` and `scan`.
 *
 * Durable: everything named in a step, once `commit` resolves; it survives the death of the process and of the machine.
 * Seen twice: a batch whose step was not committed is handed out again by the next `poll`, whole and in the same order.
 * Never seen: a step of which only a part is durable. Records of one key come in the order of their commits.
 */
export interface LogPort {
  /**
   * Next records after the group's position, at most `max` (at least 1), or `undefined` when there are none now.
   * Fewer come when they are large: an adapter bounds the bytes of a batch.
   */
  poll(p: { group: string; topics: readonly Topic[]; max: number }): Promise<Batch | undefined>;
  /**
   * Makes one step durable. Rejects with PortError; code `state_changed` when `expect` does not hold, `position_moved`
   * when the batch of the position has been dealt with already, by this step or by another worker of the group.
   */
  commit(step: Step): Promise<void>;
  /** The group's states of these keys; a key without state is missing from the map. */
  states(p: { group: string; keys: readonly string[] }): Promise<ReadonlyMap<string, StoredState>>;
  /** Every state of a group, in the order of the keys. */
  allStates(p: { group: string }): AsyncIterable<{ readonly key: string; readonly state: StoredState }>;
  /** All records of a topic in order, of one key when given. Sees at least what was committed before the call. */
  scan<T extends Topic>(p: { topic: T; key?: string }): AsyncIterable<Extract<LogRecord, { topic: T }>>;
  /** How many records of these topics the group has still to deal with. */
  lag(p: { group: string; topics: readonly Topic[] }): Promise<number>;
  /** Finishes what is under way and lets go of files and connections. */
  close(): Promise<void>;
}
