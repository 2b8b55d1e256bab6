import { readFileSync } from 'node:fs';
import { z } from 'zod';
import type { ReferenceCase } from './case.ts';

const toleranceSchema = z.looseObject({
  abs: z.number().nonnegative().optional(),
  rel: z.number().nonnegative().optional(),
});

const caseSchema = z.looseObject({
  id: z.string().min(1),
  quantity: z.string().min(1),
  inputs: z.record(z.string(), z.unknown()),
  expected: z
    .record(z.string(), z.unknown())
    .refine((keys) => Object.keys(keys).length > 0, 'expects nothing, so it could not fail'),
  tolerance: toleranceSchema,
  source: z.string().min(1),
});

const casesSchema = z.array(caseSchema).min(1);
const fileSchema = z.union([
  z.looseObject({ groups: z.record(z.string(), z.looseObject({ cases: casesSchema })) }),
  z.looseObject({ cases: casesSchema }),
]);

/** A check file could not be read. The message says which file, where in it, and how to mend it. */
export class ReferenceFileError extends Error {
  override readonly name = 'ReferenceFileError';
}

/**
 * The cases of a check file: `{ groups: { name: { cases: [...] } } }`, or flat `{ cases: [...] }`.
 *
 * @param path - The JSON file.
 * @throws ReferenceFileError when the file cannot be read, is no JSON, or a case lacks what a check needs.
 */
export function readReferenceFile(path: string): ReferenceCase[] {
  const parsed = parseJson(path, readText(path));
  const isGrouped = typeof parsed === 'object' && parsed !== null && 'groups' in parsed;
  const checked = (isGrouped ? fileSchema.options[0] : fileSchema.options[1]).safeParse(parsed);
  if (!checked.success) {
    const issue = checked.error.issues[0];
    const place =
      issue === undefined || issue.path.length === 0 ? 'at the top' : `at ${issue.path.map(String).join('.')}`;
    throw new ReferenceFileError(
      `${path} is no file of check cases: ${place}, ${issue?.message ?? 'something is missing'}. ` +
        'Write { "groups": { "name": { "cases": [ ... ] } } } or { "cases": [ ... ] }, each case with id, quantity, inputs, expected, tolerance and source.',
    );
  }
  const groups =
    'groups' in checked.data
      ? (checked.data.groups as Record<string, { cases: RawCase[] }>)
      : { '': { cases: checked.data['cases'] as RawCase[] } };
  const cases = Object.entries(groups).flatMap(([group, { cases: members }]) =>
    members.map((raw) => caseOf(raw, group)),
  );
  if (cases.length === 0)
    throw new ReferenceFileError(`${path} holds no case, so it checks nothing. Add at least one group with a case.`);
  return cases;
}

type RawCase = z.infer<typeof caseSchema>;

function caseOf(raw: RawCase, group: string): ReferenceCase {
  const { abs, rel } = raw.tolerance;
  return {
    id: raw.id,
    group,
    quantity: raw.quantity,
    inputs: raw.inputs,
    expected: raw.expected,
    tolerance: { ...(abs === undefined ? {} : { abs }), ...(rel === undefined ? {} : { rel }) },
    source: raw.source,
  };
}

function readText(path: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch (error) {
    throw new ReferenceFileError(
      `${path} cannot be read: ${messageOf(error)}. Check the path and that the file may be read.`,
      { cause: error },
    );
  }
}

function parseJson(path: string, text: string): unknown {
  try {
    return JSON.parse(text);
  } catch (error) {
    throw new ReferenceFileError(`${path} is not JSON: ${messageOf(error)}. Mend the text at that place.`, {
      cause: error,
    });
  }
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
