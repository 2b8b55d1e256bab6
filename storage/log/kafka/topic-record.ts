import type { z } from 'zod';
import { type DeadLetter, deadLetterSchema } from '../../../schemas/dead-letter.ts';
import { findingSchema } from '../../../schemas/finding.ts';
import { verdictSchema } from '../../../schemas/verdict.ts';
import { PortError } from '../../port-error.ts';
import { decodeBlock } from '../block-codec.ts';
import type { Emit, LogRecord, Topic } from '../port.ts';
import { logError } from './errors.ts';
import type { StoredRecord } from './read-partition.ts';

/** Where a record stands, for people and tools of the broker. */
export type RecordPlace = { readonly topicName: string; readonly partition: number; readonly offset: number };

const SCHEMAS: { readonly [T in Exclude<Topic, 'samples'>]: z.ZodType } = {
  findings: findingSchema,
  verdicts: verdictSchema,
  dead_letters: deadLetterSchema,
};
const RAW_CHARACTERS = 2000;

/**
 * The record as the port gives it. A broker takes records from anybody, so nothing is believed unseen: a block by its
 * checksum, the rest by its schema.
 *
 * @throws PortError `record_unreadable` with topic, partition and offset; `version_newer` when a later chargeair wrote it.
 */
export function decodeTopicRecord(topic: Topic, place: RecordPlace, record: StoredRecord): LogRecord {
  const { key, value, offset } = record;
  if (key === null || key.length === 0) throw unreadable(place, 'it has no key; the key is the unit');
  if (value === null) throw unreadable(place, 'it has no value');
  const name = key.toString('utf8');
  if (topic === 'samples') return { offset, topic, key: name, value: blockOf(place, value) };
  const json = jsonOf(place, value);
  const parsed = SCHEMAS[topic].safeParse(json);
  // What was written comes back as it was, to the order of its fields; the schema only looks at it.
  if (parsed.success) return { offset, topic, key: name, value: json } as LogRecord;
  const [issue] = parsed.error.issues;
  throw unreadable(place, `${issue?.path.join('.') ?? ''}: ${issue?.message ?? 'its shape is wrong'}`);
}

/** What is kept of a record that nobody can read. */
export function deadLetterOf(p: { topic: Topic; place: RecordPlace; record: StoredRecord; detail: string }): Emit {
  const { place, record } = p;
  const unit = record.key === null || record.key.length === 0 ? null : record.key.toString('utf8');
  const value: DeadLetter = {
    version: 1,
    id: `${place.topicName}-${place.partition}-${place.offset}`,
    unit,
    source: place.topicName,
    format: 'log_record',
    position: place.offset,
    code: 'record_unreadable',
    field: '',
    detail: p.detail,
    raw: printable(record.value ?? Buffer.alloc(0)),
    receivedAtMs: record.timestampMs,
  };
  return { topic: 'dead_letters', key: unit ?? place.topicName, value };
}

function blockOf(place: RecordPlace, value: Buffer) {
  try {
    return decodeBlock(value);
  } catch (error) {
    if (error instanceof PortError && error.code === 'record_unreadable') throw unreadable(place, error.message, error);
    throw error;
  }
}

function jsonOf(place: RecordPlace, value: Buffer): unknown {
  try {
    return JSON.parse(value.toString('utf8'));
  } catch (error) {
    throw unreadable(place, error instanceof Error ? error.message : String(error), error);
  }
}

function unreadable(place: RecordPlace, why: string, cause?: unknown): PortError {
  return logError({
    code: 'record_unreadable',
    message: `Record ${place.offset} of "${place.topicName}", partition ${place.partition}, cannot be read: ${why}`,
    cause,
  });
}

function printable(bytes: Buffer): string {
  let text = '';
  for (const byte of bytes.subarray(0, RAW_CHARACTERS)) {
    text += byte >= 0x20 && byte < 0x7f ? String.fromCharCode(byte) : `\\x${byte.toString(16).padStart(2, '0')}`;
    if (text.length >= RAW_CHARACTERS) break;
  }
  return text.slice(0, RAW_CHARACTERS);
}
