import type { Topic } from '../port.ts';
import type { StoredRecord } from './read-partition.ts';

/** A record of a topic of states, understood. */
export type StateRecord =
  | { readonly kind: 'state'; readonly key: string; readonly version: number; readonly text: string | undefined }
  | { readonly kind: 'position'; readonly positions: readonly (readonly [Topic, number])[] }
  | { readonly kind: 'turn' }
  | { readonly kind: 'strange' };

/** A record of a topic of states, to be sent. */
export type StateMessage = {
  readonly key: string;
  readonly value: string;
  readonly headers?: { readonly version: string };
};

// Compaction keeps the newest record of each key, so these three kinds never push each other out.
const STATE_PREFIX = 'state/';
const POSITION_KEY = 'position';
const TURN_KEY = 'turn';
const TOPICS: { readonly [K in Topic]: true } = { samples: true, findings: true, verdicts: true, dead_letters: true };

/** A forgotten state stays as an empty record, not as a deletion: its version must outlive it. */
export function stateMessage(p: { key: string; version: number; text: string | undefined }): StateMessage {
  return { key: STATE_PREFIX + p.key, value: p.text ?? '', headers: { version: String(p.version) } };
}

/** How far the records of each topic in the same partition have been dealt with: offset of the next record. */
export function positionMessage(positions: ReadonlyMap<Topic, number>): StateMessage {
  return { key: POSITION_KEY, value: JSON.stringify(Object.fromEntries(positions)) };
}

/** Says nothing but that somebody stands here in the queue of a partition. */
export function turnMessage(): StateMessage {
  return { key: TURN_KEY, value: '' };
}

export function readStateRecord(record: Pick<StoredRecord, 'key' | 'value' | 'headers'>): StateRecord {
  const key = record.key?.toString('utf8') ?? '';
  const value = record.value?.toString('utf8') ?? '';
  if (key === TURN_KEY) return { kind: 'turn' };
  if (key === POSITION_KEY) return readPosition(value);
  const version = Number(record.headers.version?.toString() ?? Number.NaN);
  if (!key.startsWith(STATE_PREFIX) || !Number.isSafeInteger(version) || version < 1) return { kind: 'strange' };
  return { kind: 'state', key: key.slice(STATE_PREFIX.length), version, text: value === '' ? undefined : value };
}

function readPosition(value: string): StateRecord {
  try {
    const positions = Object.entries(JSON.parse(value) as object).filter(
      (entry): entry is [Topic, number] => Object.hasOwn(TOPICS, entry[0]) && Number.isSafeInteger(entry[1]),
    );
    return { kind: 'position', positions };
  } catch (error) {
    if (error instanceof SyntaxError) return { kind: 'strange' };
    throw error;
  }
}
