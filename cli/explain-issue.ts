import type { z } from 'zod';
import { closestWord } from './closest-word.ts';

/** What a schema says may stand at a place: the names of the fields there, or the words allowed. */
export type Allowed = { readonly fields: readonly string[] };

/**
 * One sentence for a person who wrote a file by hand: what is wrong, and what would mend it.
 *
 * @param p.issue - As the schema reported it.
 * @param p.written - The value at its path, as the file has it.
 * @param p.present - Whether anything is written there at all.
 * @param p.key - The field that should not be there, for an issue about unknown fields.
 * @param p.allowed - The fields that the schema knows at that place.
 */
export function explainIssue(p: {
  issue: z.core.$ZodIssue;
  written: unknown;
  present: boolean;
  key?: string;
  allowed: Allowed;
}): string {
  const { issue } = p;
  switch (issue.code) {
    case 'unrecognized_keys':
      return explainUnknownField(p.key ?? issue.keys.join(', '), p.allowed.fields);
    case 'invalid_type':
      return p.present
        ? `${shown(p.written)}; write ${expectedKind(issue.expected)}`
        : `is missing; add it, ${expectedKind(issue.expected)}`;
    case 'invalid_value':
      return explainChoice({ ...p, allowed: issue.values.map(String) });
    case 'invalid_union':
      return explainUnion(p, issue);
    case 'too_small':
      return explainTooSmall(issue);
    case 'too_big':
      return `is more than ${issue.maximum}; write ${issue.inclusive === false ? 'less than' : 'at most'} ${issue.maximum}`;
    case 'invalid_format':
      return explainFormat(issue, p.written);
    case 'invalid_key':
      return `${shown(p.written)} has a key that is not allowed here: ${issue.issues.map((inner) => inner.message).join('; ')}`;
    default:
      return issue.message;
  }
}

function explainUnknownField(key: string, fields: readonly string[]): string {
  const close = closestWord({ word: key, known: fields });
  if (close !== undefined) return `is not a field here; did you mean ${close}?`;
  return fields.length === 0
    ? 'is not a field here; take it out'
    : `is not a field here; the fields are ${listed(fields)}`;
}

function explainChoice(p: { written: unknown; present: boolean; allowed: readonly string[] }): string {
  const choice = p.allowed.length === 1 ? `write ${p.allowed[0]}` : `use one of ${listed(p.allowed)}`;
  if (!p.present) return `is missing; ${choice}`;
  const close = typeof p.written === 'string' ? closestWord({ word: p.written, known: p.allowed }) : undefined;
  const hint = close === undefined || p.allowed.length === 1 ? '' : ` (did you mean ${close}?)`;
  return `${shown(p.written)}, which is not known here; ${choice}${hint}`;
}

function explainUnion(p: { written: unknown; present: boolean }, issue: z.core.$ZodIssueInvalidUnion): string {
  const own = 'options' in issue && Array.isArray(issue.options) ? issue.options.map(String) : [];
  const values = issue.errors
    .flat()
    .flatMap((inner) => (inner.code === 'invalid_value' ? inner.values.map(String) : []));
  const allowed = [...own, ...values];
  return allowed.length > 0
    ? explainChoice({ ...p, allowed })
    : `${shown(p.written)}, which fits none of the forms allowed here`;
}

function explainTooSmall(issue: z.core.$ZodIssueTooSmall): string {
  if (issue.origin === 'string') return 'is empty; write a text';
  if (issue.origin === 'array') return `needs at least ${issue.minimum}, each beginning with "- "`;
  return `is too small; write ${issue.inclusive === false ? `more than ${issue.minimum}` : `at least ${issue.minimum}`}`;
}

function explainFormat(issue: z.core.$ZodIssueInvalidStringFormat, written: unknown): string {
  if (issue.format === 'datetime') {
    return `${shown(written)}; write a time with its offset from UTC, such as "2026-03-01T06:00:00+01:00"`;
  }
  return `${shown(written)}; ${issue.message}`;
}

function expectedKind(expected: string): string {
  switch (expected) {
    case 'string':
      return 'a text';
    case 'number':
      return 'a number, without quotes and without its unit';
    case 'int':
      return 'a whole number';
    case 'boolean':
      return 'true or false';
    case 'array':
      return 'a list, each item beginning with "- "';
    case 'object':
    case 'record':
      return 'a group of fields, indented below it (or {} for none)';
    default:
      return `a ${expected}`;
  }
}

const SHOWN_LENGTH = 60;

function shown(value: unknown): string {
  if (value === null || value === undefined) return 'is empty';
  if (Array.isArray(value)) return 'is a list';
  if (typeof value === 'object') return 'is a group of fields';
  const text = String(value);
  return `is "${text.length > SHOWN_LENGTH ? `${text.slice(0, SHOWN_LENGTH)}…` : text}"`;
}

function listed(words: readonly string[]): string {
  return words.join(', ');
}
