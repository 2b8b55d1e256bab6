import { assert } from '../../../schemas/assert.ts';
import type { Topic } from '../port.ts';
import type { Connection } from './connection.ts';
import { logError } from './errors.ts';
import { pause } from './pause.ts';
import { type Place, readSlices, type StoredRecord } from './read-partition.ts';
import { readStateRecord } from './state-record.ts';

/** A state as kept: its JSON text, or `undefined` for a forgotten one, whose version must never come again. */
export type KeptState = { readonly version: number; readonly text: string | undefined };

/** What a group remembers in one partition: the states of its keys, and how far its records have been dealt with. */
export type StateTable = {
  readonly topic: string;
  readonly partition: number;
  /** Everything before this offset is in the table. */
  next: number;
  readonly states: Map<string, KeptState>;
  readonly positions: Map<Topic, number>;
};

/** The tables of all groups, read as they are asked for and kept up to date. */
export type StateTables = {
  /** The tables of these partitions, holding at least everything that was committed before the call. */
  current(p: { group: string; partitions: readonly number[] }): Promise<readonly StateTable[]>;
  /**
   * The table, holding everything before `offset`: what came before it in the partition has ended, one way or other.
   * This is what makes one step wait for another, as a place in the partition is a place in a queue.
   */
  upTo(p: { group: string; partition: number; offset: number }): Promise<StateTable>;
  /** Puts a batch of committed records in, if nothing lies between it and what is there; otherwise it is read later. */
  apply(table: StateTable, p: { offset: number; records: readonly Omit<StoredRecord, 'offset'>[] }): void;
  /** Lets go of the tables of a group but for these partitions. */
  keepOnly(p: { group: string; partitions: readonly number[] }): void;
};

const WAIT_MS = 10;
/** The broker looks for steps that took too long every ten seconds: `transaction.abort.timed.out.transaction.cleanup.interval.ms`. */
const ABORT_CHECK_MS = 15_000;

export function createStateTables(connection: Connection): StateTables {
  const tables = new Map<string, StateTable>();
  // One reader a table at a time: two would both add what they read, and one of them out of turn.
  const turns = new Map<string, Promise<unknown>>();

  async function tableOf(group: string, partition: number): Promise<StateTable> {
    const topic = await connection.stateTopic(group);
    const name = `${topic}/${partition}`;
    const known = tables.get(name);
    if (known !== undefined) return known;
    const table = { topic, partition, next: 0, states: new Map(), positions: new Map() };
    tables.set(name, table);
    return table;
  }

  async function inTurn<T>(table: StateTable, work: () => Promise<T>): Promise<T> {
    const name = `${table.topic}/${table.partition}`;
    const before = turns.get(name) ?? Promise.resolve();
    const own = before.then(work);
    // The next in turn goes on whatever became of this one; its caller hears of it.
    turns.set(
      name,
      own.catch(() => undefined),
    );
    return own;
  }

  return {
    async current({ group, partitions }) {
      const wanted = await Promise.all(partitions.map((partition) => tableOf(group, partition)));
      await withTurns(wanted, inTurn, () => readToEnd(connection, wanted));
      return wanted;
    },
    async upTo({ group, partition, offset }) {
      const table = await tableOf(group, partition);
      if (table.next < offset) await inTurn(table, () => readTo(connection, table, offset));
      return table;
    },
    apply(table, { offset, records }) {
      if (table.next !== offset) return;
      for (const record of records) take(connection, table, { ...record, offset: table.next });
      table.next = offset + records.length;
    },
    keepOnly({ group, partitions }) {
      const prefix = `${connection.settings.prefix}.states.${group}/`;
      for (const [name, table] of tables) {
        if (name.startsWith(prefix) && !partitions.includes(table.partition)) tables.delete(name);
      }
    },
  };
}

/** Has the turn of all these tables at once, taken in the order of their partitions so that no two wait crosswise. */
function withTurns(
  tables: readonly StateTable[],
  inTurn: <T>(table: StateTable, work: () => Promise<T>) => Promise<T>,
  work: () => Promise<void>,
): Promise<void> {
  const ordered = [...tables].sort((a, b) => a.partition - b.partition);
  const nested = ordered.reduceRight<() => Promise<void>>((inner, table) => () => inTurn(table, inner), work);
  return nested();
}

/** Reads on until all tables hold what was in their partitions when this began. */
async function readToEnd(connection: Connection, tables: readonly StateTable[]): Promise<void> {
  const ends = new Map<StateTable, number>();
  await readOn(connection, tables, (table, end) => {
    // The first answer tells where the partition ended then.
    if (!ends.has(table)) ends.set(table, end);
    return table.next >= (ends.get(table) ?? end);
  });
}

function readTo(connection: Connection, table: StateTable, offset: number): Promise<void> {
  return readOn(connection, [table], () => table.next >= offset);
}

async function readOn(
  connection: Connection,
  tables: readonly StateTable[],
  isDone: (table: StateTable, end: number) => boolean,
): Promise<void> {
  const patienceMs = connection.transactionTimeoutMs + ABORT_CHECK_MS;
  let moved = Date.now();
  let waitMs = 0;
  for (let rest = tables; rest.length > 0; ) {
    const places = rest.map(({ topic, partition, next }): Place => ({ topic, partition, offset: next }));
    const slices = await readSlices(connection, { places, waitMs });
    const open: StateTable[] = [];
    rest.forEach((table, i) => {
      const slice = slices[i];
      assert(slice !== undefined, 'every place has its slice');
      if (slice.next > table.next) moved = Date.now();
      for (const record of slice.records) take(connection, table, record);
      table.next = Math.max(table.next, slice.next);
      if (!isDone(table, slice.end)) open.push(table);
    });
    rest = open;
    if (rest.length > 0 && Date.now() - moved > patienceMs) throw stuck(rest);
    waitMs = WAIT_MS;
    if (rest.length > 0 && slices.every(({ records }) => records.length === 0)) await pause(1);
  }
}

function stuck(tables: readonly StateTable[]): Error {
  const names = tables.map(({ topic, partition }) => `${topic}, partition ${partition}`).join('; ');
  return logError({
    code: 'busy',
    message: `A step of another worker is not ended by the broker (${names}). It is tried again; if this stays, look at the broker's transactions.`,
    retryable: true,
  });
}

function take(connection: Connection, table: StateTable, record: StoredRecord): void {
  const read = readStateRecord(record);
  switch (read.kind) {
    case 'state':
      table.states.set(read.key, { version: read.version, text: read.text });
      return;
    case 'position':
      for (const [topic, offset] of read.positions) table.positions.set(topic, offset);
      return;
    case 'turn':
      return;
    case 'strange':
      connection.notice(
        `Record ${record.offset} of "${table.topic}", partition ${table.partition}, is no state of chargeair and was passed over.`,
      );
      return;
    default:
      read satisfies never;
  }
}
