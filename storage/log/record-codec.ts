import { type FileOf, fileError, messageOf } from '../sqlite/errors.ts';
import { decodeBlock, encodeBlock } from './block-codec.ts';
import type { Emit, Json, LogRecord, Topic } from './port.ts';

/** A stored record as it lies in its row. */
export type RecordRow = {
  readonly offset: number;
  readonly topic: Topic;
  readonly key: string;
  readonly value: Uint8Array;
};

const textEncoder = new TextEncoder();
const textDecoder = new TextDecoder();

/** The value of a record as stored: a packed block for samples, JSON for everything else. */
export function encodeValue(emit: Emit): Uint8Array {
  return emit.topic === 'samples' ? encodeBlock(emit.value) : textEncoder.encode(JSON.stringify(emit.value));
}

/** @throws PortError `record_unreadable` when the stored value is damaged. */
export function decodeRecord(file: FileOf, row: RecordRow): LogRecord {
  const { offset, key, topic } = row;
  if (topic === 'samples') return { offset, topic, key, value: decodeBlock(row.value) };
  // The rest is what a commit of the same schema version wrote; its shape was checked before it came here.
  return { offset, topic, key, value: parse(file, textDecoder.decode(row.value), `record ${offset}`) } as LogRecord;
}

/** @throws PortError `record_unreadable` when the stored state is damaged. */
export function decodeState(file: FileOf, p: { key: string; value: string }): Json {
  return parse(file, p.value, `the state of "${p.key}"`) as Json;
}

function parse(file: FileOf, text: string, what: string): unknown {
  try {
    return JSON.parse(text);
  } catch (cause) {
    throw fileError(file, {
      code: 'record_unreadable',
      message: `In ${file.path}, ${what} cannot be read: ${messageOf(cause)}. The file is damaged; put back a copy.`,
      cause,
    });
  }
}
