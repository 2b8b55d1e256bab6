import { z } from 'zod';
import { deadLetterSchema } from './dead-letter.ts';
import { findingSchema } from './finding.ts';
import { fleetFileSchema } from './fleet-file.ts';
import { historyPointSchema } from './history-point.ts';
import { indicatorSchema } from './indicator.ts';
import { liveMessageSchema } from './live-message.ts';
import { operatingPointSchema } from './operating-point.ts';
import { sampleBlockSchema } from './sample-block.ts';
import { taskSchema } from './task.ts';
import { unitSchema } from './unit.ts';
import { verdictSchema } from './verdict.ts';

/** Every record and file that other programs may write or read, by the name its JSON Schema goes by. */
const PUBLISHED = {
  'fleet-file': { schema: fleetFileSchema, title: 'Fleet file' },
  unit: { schema: unitSchema, title: 'Unit' },
  'live-message': { schema: liveMessageSchema, title: 'Live message' },
  'sample-block': { schema: sampleBlockSchema, title: 'Sample block' },
  'operating-point': { schema: operatingPointSchema, title: 'Operating point' },
  'history-point': { schema: historyPointSchema, title: 'History point' },
  indicator: { schema: indicatorSchema, title: 'Indicator' },
  finding: { schema: findingSchema, title: 'Finding' },
  task: { schema: taskSchema, title: 'Task' },
  verdict: { schema: verdictSchema, title: 'Verdict' },
  'dead-letter': { schema: deadLetterSchema, title: 'Dead letter' },
} as const satisfies Record<string, { schema: z.ZodType; title: string }>;

export type JsonSchemaName = keyof typeof PUBLISHED;

export const JSON_SCHEMA_NAMES = Object.keys(PUBLISHED) as readonly JsonSchemaName[];

/** Whether a text names a published JSON Schema. */
export function isJsonSchemaName(text: string): text is JsonSchemaName {
  return Object.hasOwn(PUBLISHED, text);
}

/**
 * The JSON Schema (draft 2020-12) of a record as it is written, ending in a line break.
 *
 * It describes what may be handed in: fields with a default may be left out. Rules that tie two fields together, such
 * as columns of equal length, cannot be said in JSON Schema; they are checked on reading.
 */
export function jsonSchemaText(name: JsonSchemaName): string {
  const { schema, title } = PUBLISHED[name];
  const { $schema, ...rest } = z.toJSONSchema(schema, { io: 'input' });
  return `${JSON.stringify({ $schema, $id: `urn:chargeair:schema:${name}:1`, title, ...rest }, null, 2)}\n`;
}
