import type { Emit, LogPort } from '../../storage/log/port.ts';
import { PortError } from '../../storage/port-error.ts';
import { deadLetter } from '../dead-letters.ts';
import type { DecodedBatch, Tally } from '../formats/decoder.ts';
import { addTallies } from '../load-progress.ts';
import { type Clock, sleep } from './clock.ts';
import { createLiveStore } from './live-store.ts';
import { SETTLE_MS, sendOn, takeRows } from './live-unit.ts';

/** Rows that wait for a step at most; beyond, senders are asked to wait. */
export const QUEUE_ROWS_MAX = 32_768;
/** Messages that wait for a step at most. */
export const QUEUE_MESSAGES_MAX = 4096;
/** Rows a step takes in; bounds its memory and how long the log is held. */
const STEP_ROWS_MAX = 16_384;
/** A step waits so long for more to join it: one sync of the disk then serves many senders. */
const LINGER_MS = 5;
/** So many open rows of a unit go on at once. Longer blocks pack better and cost the analysis less. */
const SEND_ON_ROWS = 64;
/** A unit whose open rows are fewer still sends on so often, so that the analysis sees them. */
const SEND_ON_EVERY_MS = 30_000;
/** How often it is looked whether a unit has waited so long. */
const LOOK_EVERY_MS = 1000;
/** Refusals of a source kept verbatim in an hour; beyond they are counted only, as a sensor gone mad would fill the disk. */
const DEAD_LETTERS_PER_HOUR_MAX = 10_000;
const HOUR_MS = 3_600_000;
const ATTEMPTS_MAX = 8;
const FIRST_PAUSE_MS = 100;

/** A message as it was decoded. */
export type LiveInput = {
  readonly batch: Omit<DecodedBatch, 'repeatedRows'>;
  /** Topic, address or file it came by; stands in dead letters. */
  readonly name: string;
  readonly format: string;
  /** SHA-256 of the message; asked for only when something of it was refused. */
  readonly fingerprint: () => string;
};

/** What came of a message, once that is durable. */
export type Receipt = {
  readonly accepted: number;
  readonly duplicates: number;
  /** Accepted rows that are older than what had gone to the log. */
  readonly late: number;
  readonly rejectedRows: Tally;
  readonly rejectedValues: Tally;
};

/** One source that sends while it measures. */
export type LiveSession = {
  /**
   * Takes a message in. Resolves when what was accepted and what was refused is durable: only then may its sender be
   * told. Rejects when the log failed for good; nothing of the message is in then.
   */
  take(input: LiveInput): Promise<Receipt>;
  /** Whether another message may come now. */
  hasRoom(): boolean;
  /** Resolves once another message may come. */
  room(): Promise<void>;
  /** Takes what is queued in, sends all open rows on, and ends. Later messages are refused. */
  drain(): Promise<void>;
};

/** The session has ended or failed; the message was not taken in. */
export class SessionClosed extends Error {
  override readonly name = 'SessionClosed';
}

type Waiting = {
  readonly input: LiveInput;
  readonly rows: number;
  readonly resolve: (receipt: Receipt) => void;
  readonly reject: (error: unknown) => void;
};

/**
 * A session of one source over the log. Messages that come close together are made durable in one step.
 *
 * @param p.source - Id of the live source; with the unit it names what has been seen.
 * @param p.units - Units whose rows may lie open from an earlier run; they are sent on in time.
 * @param p.onFailure - Called once when the log has failed for good.
 */
export function createLiveSession(p: {
  log: LogPort;
  source: string;
  units: readonly string[];
  clock: Clock;
  onFailure: (error: unknown) => void;
}): LiveSession {
  const { clock } = p;
  const store = createLiveStore(p);
  const queue: Waiting[] = [];
  const roomWaiters: (() => void)[] = [];
  const waitsSinceMs = new Map<string, number>();
  const takenMs = new Map<string, number>();
  let queuedRows = 0;
  let isOpen = true;
  let failure: unknown;
  let wake = () => {};
  let letters = { hourMs: -Infinity, count: 0 };

  const hasRoom = () => queuedRows < QUEUE_ROWS_MAX && queue.length < QUEUE_MESSAGES_MAX;

  // Waits for a message, the end, or the time to look at units that have waited.
  const somethingToDo = () =>
    new Promise<void>((resolve) => {
      const finish = () => {
        cancel();
        wake = () => {};
        resolve();
      };
      const cancel = clock.after(LOOK_EVERY_MS, finish);
      wake = finish;
      if (queue.length > 0 || !isOpen) finish();
    });

  const takeStep = (): Waiting[] => {
    const step: Waiting[] = [];
    let rows = 0;
    while (queue.length > 0 && (step.length === 0 || rows + (queue[0]?.rows ?? 0) <= STEP_ROWS_MAX)) {
      const next = queue.shift() as Waiting;
      rows += next.rows;
      step.push(next);
    }
    return step;
  };

  const lettersOf = (input: LiveInput, nowMs: number): Emit[] => {
    if (input.batch.rejects.length === 0) return [];
    if (nowMs - letters.hourMs >= HOUR_MS) letters = { hourMs: nowMs, count: 0 };
    const kept = input.batch.rejects.slice(0, Math.max(0, DEAD_LETTERS_PER_HOUR_MAX - letters.count));
    letters.count += kept.length;
    const common = { sha256: input.fingerprint(), file: input.name, format: input.format, receivedAtMs: nowMs };
    return kept.map(({ reject, position, raw, unit }) => deadLetter({ ...common, reject, position, raw, unit }));
  };

  const attempt = async (step: readonly Waiting[], isLast: boolean): Promise<Receipt[]> => {
    const nowMs = clock.now();
    await store.open([...p.units, ...step.flatMap(({ input }) => input.batch.samples.map(({ unit }) => unit))]);
    const emit: Emit[] = [];
    const touched = new Set<string>();
    const receipts = step.map(({ input }): Receipt => {
      const total = { accepted: input.batch.emptyRows, duplicates: 0, late: 0 };
      for (const samples of input.batch.samples) {
        const taken = takeRows(store.unit(samples.unit), samples);
        total.accepted += taken.accepted;
        total.duplicates += taken.duplicates;
        total.late += taken.late;
        if (taken.accepted === 0) continue;
        touched.add(samples.unit);
        takenMs.set(samples.unit, nowMs);
      }
      emit.push(...lettersOf(input, nowMs));
      const { rejectedRows, rejectedValues } = input.batch;
      return { ...total, rejectedRows, rejectedValues };
    });
    const sent = new Set<string>();
    for (const id of store.waiting()) {
      const unit = store.unit(id);
      const sinceMs = waitsSinceMs.get(id) ?? nowMs;
      waitsSinceMs.set(id, sinceMs);
      const hasWaited = nowMs - sinceMs >= SEND_ON_EVERY_MS;
      if (!isLast && !hasWaited && unit.open.rows.size < SEND_ON_ROWS) continue;
      const isQuiet = nowMs - (takenMs.get(id) ?? -Infinity) >= SETTLE_MS;
      const blocks = sendOn(unit, { all: isLast || isQuiet });
      if (blocks.length === 0) continue;
      for (const block of blocks) emit.push({ topic: 'samples', key: id, value: block });
      sent.add(id);
      touched.add(id);
    }
    if (emit.length > 0 || touched.size > 0) await store.commit({ emit, touched, sent });
    for (const id of sent) waitsSinceMs.delete(id);
    return receipts;
  };

  const patiently = async (step: readonly Waiting[], isLast: boolean): Promise<Receipt[]> => {
    for (let tries = 1; ; tries += 1) {
      try {
        return await attempt(step, isLast);
      } catch (error) {
        // What was taken in memory did not become durable: the log is asked again.
        store.forget();
        const canHelp = error instanceof PortError && (error.retryable || error.code === 'state_changed');
        if (!canHelp || tries >= ATTEMPTS_MAX) throw error;
        await sleep(clock, { ms: FIRST_PAUSE_MS * 2 ** (tries - 1) });
      }
    }
  };

  const fail = (step: readonly Waiting[], error: unknown) => {
    failure = error;
    isOpen = false;
    for (const waiting of [...step, ...queue.splice(0)]) waiting.reject(error);
    queuedRows = 0;
    for (const go of roomWaiters.splice(0)) go();
    p.onFailure(error);
  };

  const run = async () => {
    while (isOpen || queue.length > 0) {
      await somethingToDo();
      if (isOpen && queue.length > 0 && hasRoom()) await sleep(clock, { ms: LINGER_MS });
      const step = takeStep();
      try {
        const receipts = await patiently(step, !isOpen && queue.length === 0);
        queuedRows -= step.reduce((sum, { rows }) => sum + rows, 0);
        for (const [i, waiting] of step.entries()) waiting.resolve(receipts[i] as Receipt);
        if (hasRoom()) for (const go of roomWaiters.splice(0)) go();
      } catch (error) {
        fail(step, error);
        return;
      }
    }
    try {
      await patiently([], true);
    } catch (error) {
      fail([], error);
    }
  };
  const ended = run();

  return {
    take(input) {
      if (!isOpen) return Promise.reject(failure ?? new SessionClosed('The source is being closed.'));
      const rows = 1 + input.batch.samples.reduce((sum, samples) => sum + samples.timesMs.length, 0);
      queuedRows += rows;
      return new Promise<Receipt>((resolve, reject) => {
        queue.push({ input, rows, resolve, reject });
        wake();
      });
    },
    hasRoom,
    room: () =>
      hasRoom() || !isOpen
        ? Promise.resolve()
        : new Promise((resolve) => {
            roomWaiters.push(resolve);
          }),
    async drain() {
      isOpen = false;
      wake();
      await ended;
    },
  };
}

/** Two receipts together. */
export function addReceipts(a: Receipt, b: Receipt): Receipt {
  return {
    accepted: a.accepted + b.accepted,
    duplicates: a.duplicates + b.duplicates,
    late: a.late + b.late,
    rejectedRows: addTallies(a.rejectedRows, b.rejectedRows),
    rejectedValues: addTallies(a.rejectedValues, b.rejectedValues),
  };
}

/** A receipt for nothing. */
export const EMPTY_RECEIPT: Receipt = { accepted: 0, duplicates: 0, late: 0, rejectedRows: {}, rejectedValues: {} };
