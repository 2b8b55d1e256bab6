import { createHash } from 'node:crypto';
import type { FleetFile } from '../../schemas/fleet-file.ts';
import type { CsvRule } from '../../schemas/source-rule.ts';
import { clockLimits } from '../checks.ts';
import { createDecoder } from '../formats/formats.ts';
import type { MessageBatch } from './message-collector.ts';
import { jsonOf, type MessageContext, parseLiveMessage, readLiveMessage } from './parse-message.ts';
import { PushRefusal } from './push-problem.ts';

/** Messages in one JSON array; a longer run goes as NDJSON, which is read line by line. */
const ARRAY_MESSAGES_MAX = 1000;
const CSV_CHUNK_BYTES = 256 * 1024;

/** One part of a body as it was decoded, and how to tell it from others. */
export type PushPart = {
  readonly batch: MessageBatch & { readonly repeatedRows?: number };
  readonly format: string;
  readonly fingerprint: () => string;
};

/** What a body is read with. */
export type PushContext = MessageContext & { readonly fleet: FleetFile };

/**
 * Decodes a body, part by part.
 *
 * @param p.rule - Id of the source rule, for CSV.
 * @throws PushRefusal 400 when JSON cannot be read, 413 for too long an array, 415 for another type, 422 or 403 for a
 *   rule that is not there or not this source's.
 */
export function readParts(p: {
  type: string;
  body: Buffer;
  rule: string | undefined;
  context: PushContext;
}): Iterable<PushPart> {
  switch (p.type) {
    case 'application/json':
      return jsonParts(p.body, p.context);
    case 'application/x-ndjson':
      return lineParts(p.body, p.context);
    case 'text/csv':
      return csvParts(p.body, csvRule(p.rule, p.context), p.context);
    default:
      throw new PushRefusal({
        status: 415,
        title: 'Type not known',
        detail: 'Send application/json, application/x-ndjson, or text/csv with ?rule= and the id of a source rule.',
      });
  }
}

function* jsonParts(body: Buffer, context: PushContext): Generator<PushPart> {
  const written = jsonOf(body.toString('utf8'));
  if (!written.ok || !Array.isArray(written.value)) {
    yield part(parseLiveMessage(body, context), body);
    return;
  }
  const messages: readonly unknown[] = written.value;
  if (messages.length > ARRAY_MESSAGES_MAX) {
    throw new PushRefusal({
      status: 413,
      title: 'Too many messages',
      detail: `An array may hold ${ARRAY_MESSAGES_MAX} messages; send them in parts, or as NDJSON.`,
    });
  }
  for (const message of messages) {
    const text = () => Buffer.from(JSON.stringify(message));
    const batch = readLiveMessage(message, text, context);
    yield { batch, format: 'json', fingerprint: () => sha256(text()) };
  }
}

function* lineParts(body: Buffer, context: PushContext): Generator<PushPart> {
  for (let start = 0; start < body.length; ) {
    const feed = body.indexOf(0x0a, start);
    const end = feed < 0 ? body.length : feed;
    const line = body.subarray(start, end);
    start = end + 1;
    if (line.some((byte) => byte > 0x20)) yield part(parseLiveMessage(line, context), line);
  }
}

function* csvParts(body: Buffer, rule: CsvRule, context: PushContext): Generator<PushPart> {
  const decoder = createDecoder({ rule, unitIds: context.unitIds, clock: context.clock });
  const fingerprint = () => sha256(body);
  const format = rule.format;
  for (let start = 0; start < body.length; start += CSV_CHUNK_BYTES) {
    for (const batch of decoder.push(body.subarray(start, start + CSV_CHUNK_BYTES)))
      yield { batch, format, fingerprint };
  }
  for (const batch of decoder.finish()) yield { batch, format, fingerprint };
  const { problem, rowCount } = decoder.standing();
  if (problem !== undefined && rowCount === 0) {
    throw new PushRefusal({ status: 422, title: 'Table not readable', detail: problem.detail });
  }
}

function csvRule(id: string | undefined, context: PushContext): CsvRule {
  const rule = context.fleet.sources.find((source) => source.id === id);
  if (rule === undefined || !(rule.format === 'csv_wide' || rule.format === 'csv_long')) {
    throw new PushRefusal({
      status: 422,
      title: 'No such rule',
      detail: 'Name a source rule for CSV tables of the fleet file with ?rule=ID.',
    });
  }
  if (rule.unit !== undefined && !context.unitIds.has(rule.unit)) {
    throw new PushRefusal({
      status: 403,
      title: 'Not your unit',
      detail: `This source may not send readings of ${rule.unit}.`,
    });
  }
  return rule;
}

function part(batch: MessageBatch, bytes: Buffer): PushPart {
  return { batch, format: 'json', fingerprint: () => sha256(bytes) };
}

function sha256(bytes: Buffer): string {
  return createHash('sha256').update(bytes).digest('hex');
}

/** Context of a source at this moment. */
export function pushContext(p: { fleet: FleetFile; units: readonly string[] | undefined; nowMs: number }): PushContext {
  return {
    fleet: p.fleet,
    unitIds: new Set(p.units ?? p.fleet.units.map((unit) => unit.id)),
    clock: clockLimits(p.nowMs),
  };
}
