import { z } from 'zod';

/** What a form sent: all values of a field by its name. */
export type FormEntries = Readonly<Record<string, readonly string[]>>;

const entriesSchema = z.record(z.string(), z.array(z.string()));

/** Reads `application/x-www-form-urlencoded` (WHATWG URL, section 5.1). */
export function parseForm(body: string): FormEntries {
  const entries = new Map<string, string[]>();
  for (const [name, value] of new URLSearchParams(body)) entries.set(name, [...(entries.get(name) ?? []), value]);
  return Object.fromEntries(entries);
}

/** The entries of a parsed body; none when the body was something else. */
export function entriesOf(body: unknown): FormEntries {
  return entriesSchema.catch({}).parse(body);
}

/** The first value of a field, empty when there is none. */
export function firstOf(entries: FormEntries, name: string): string {
  return entries[name]?.[0] ?? '';
}

/** A number as people write it, with a decimal point or comma and perhaps a true minus sign; NaN when it is none. */
export function readNumber(text: string): number {
  const plain = text.trim().replace('−', '-').replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
}
