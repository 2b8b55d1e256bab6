import { readFile } from 'node:fs/promises';
import { type Document, LineCounter, parseDocument } from 'yaml';
import { z } from 'zod';
import { type FleetFile, fleetFileSchema } from '../schemas/fleet-file.ts';
import { explainIssue } from './explain-issue.ts';
import { type FileErrorWords, fileErrorSentence } from './file-error.ts';
import { placeOf, placeOfKey } from './yaml-place.ts';

/** One thing that is wrong in a fleet file: where it stands, which field it is about, and what would mend it. */
export type FleetFault = {
  readonly file: string;
  /** Counted from 1; 0 when the file could not be read at all. */
  readonly line: number;
  readonly column: number;
  /** Path of the field, such as `units[0].engine.strokes`; empty when the whole file is wrong. */
  readonly field: string;
  readonly detail: string;
};

/** A fleet file that holds, or everything that is wrong with it, in the order of its lines. */
export type CheckedFleet =
  | { readonly ok: true; readonly value: FleetFile }
  | { readonly ok: false; readonly faults: readonly FleetFault[] };

/** Longest fleet file that is read; thousands of units fit, and a log given by mistake is refused at once. */
const MAX_FLEET_FILE_BYTES = 8 * 1024 * 1024;

/** Reads and checks a fleet file on disk. A file that cannot be read is a fault like any other, at line 0. */
export async function readFleetFile(p: { path: string }): Promise<CheckedFleet> {
  let text: string;
  try {
    text = await readFile(p.path, 'utf8');
  } catch (error) {
    return wholeFile(p.path, fileErrorSentence(error, FLEET_FILE_WORDS));
  }
  return readFleetText({ text, file: p.path });
}

/**
 * Checks the text of a fleet file.
 *
 * @param p.text - YAML 1.2.
 * @param p.file - How to name it in messages.
 */
export function readFleetText(p: { text: string; file: string }): CheckedFleet {
  if (p.text.length > MAX_FLEET_FILE_BYTES)
    return wholeFile(p.file, 'is far too long for a fleet file; give a YAML file that describes the fleet');
  if (p.text.trim() === '') return wholeFile(p.file, 'is empty; `chargeair example` prints one to begin with');
  const lines = new LineCounter();
  const document = parseDocument(p.text, { lineCounter: lines, prettyErrors: false });
  if (document.errors.length > 0) {
    return { ok: false, faults: document.errors.map((error) => yamlFault(p.file, lines, error.pos[0], error.message)) };
  }
  let written: unknown;
  try {
    written = document.toJS({ maxAliasCount: 1000 });
  } catch (error) {
    // The library's word for an alias without an anchor, or for aliases that unfold without end.
    if (!(error instanceof ReferenceError)) throw error;
    return wholeFile(p.file, `cannot be unfolded: ${error.message}`);
  }
  const checked = fleetFileSchema.safeParse(written);
  const faults = checked.success
    ? zoneFaults({ ...p, document, lines, fleet: checked.data })
    : checked.error.issues.flatMap((issue) => issueFaults({ file: p.file, document, lines, written, issue }));
  if (checked.success && faults.length === 0) return { ok: true, value: checked.data };
  return { ok: false, faults: [...faults].sort((a, b) => a.line - b.line || a.column - b.column) };
}

/** One line a fault, in the form that editors and people know: file, line, column, field, sentence. */
export function faultLine(fault: FleetFault): string {
  const place = fault.line === 0 ? fault.file : `${fault.file}:${fault.line}:${fault.column}`;
  return fault.field === '' ? `${place}: ${fault.detail}` : `${place}: ${fault.field} ${fault.detail}`;
}

type Reading = { readonly file: string; readonly document: Document; readonly lines: LineCounter };

function issueFaults(p: Reading & { written: unknown; issue: z.core.$ZodIssue }): FleetFault[] {
  const { path } = p.issue;
  const allowed = { fields: fieldsAt(path) };
  const found = placeOf({ ...p, path });
  const written = valueAt(p.written, path);
  const present = found.present && written !== undefined;
  if (p.issue.code !== 'unrecognized_keys') {
    const detail = explainIssue({ issue: p.issue, written, present, allowed });
    return [{ file: p.file, ...found.place, field: fieldName(path), detail }];
  }
  return p.issue.keys.map((key) => ({
    file: p.file,
    ...placeOfKey({ ...p, path, key }),
    field: fieldName([...path, key]),
    detail: explainIssue({ issue: p.issue, written, present, key, allowed }),
  }));
}

/** Time zones are checked against the zones that this machine's Node knows: the schema alone cannot. */
function zoneFaults(p: Reading & { fleet: FleetFile }): FleetFault[] {
  const zones: [readonly PropertyKey[], string | undefined][] = [
    [['fleet', 'timeZone'], p.fleet.fleet.timeZone],
    ...p.fleet.places.map((place, i): [PropertyKey[], string | undefined] => [
      ['places', i, 'timeZone'],
      place.timeZone,
    ]),
    ...p.fleet.sources.map((source, i): [PropertyKey[], string | undefined] => [
      ['sources', i, 'time', 'timeZone'],
      'time' in source ? source.time.timeZone : undefined,
    ]),
  ];
  return zones.flatMap(([path, zone]) => {
    if (zone === undefined || isTimeZone(zone)) return [];
    const detail = `is "${zone}", which is no time zone; write an IANA name, such as Europe/Athens or UTC`;
    return [{ file: p.file, ...placeOf({ ...p, path }).place, field: fieldName(path), detail }];
  });
}

function isTimeZone(zone: string): boolean {
  try {
    return new Intl.DateTimeFormat('en', { timeZone: zone }) !== undefined;
  } catch (error) {
    if (error instanceof RangeError) return false;
    throw error;
  }
}

type JsonSchema = {
  properties?: Record<string, JsonSchema>;
  items?: JsonSchema;
  oneOf?: JsonSchema[];
  anyOf?: JsonSchema[];
};

/** Names of the fields that the schema knows at a path; of every form where several are allowed. */
function fieldsAt(path: readonly PropertyKey[]): string[] {
  let schemas = forms(z.toJSONSchema(fleetFileSchema, { io: 'input' }) as JsonSchema);
  for (const step of path) {
    const next = schemas.map((schema) => (typeof step === 'number' ? schema.items : schema.properties?.[String(step)]));
    schemas = next.flatMap((schema) => (schema === undefined ? [] : forms(schema)));
  }
  return [...new Set(schemas.flatMap((schema) => Object.keys(schema.properties ?? {})))];
}

function forms(schema: JsonSchema): JsonSchema[] {
  const several = schema.oneOf ?? schema.anyOf;
  return several === undefined ? [schema] : several.flatMap(forms);
}

function valueAt(value: unknown, path: readonly PropertyKey[]): unknown {
  let at = value;
  for (const step of path) {
    if (typeof at !== 'object' || at === null || !Object.hasOwn(at, step)) return undefined;
    at = (at as Record<PropertyKey, unknown>)[step];
  }
  return at;
}

function fieldName(path: readonly PropertyKey[]): string {
  return path.reduce<string>(
    (name, step) =>
      typeof step === 'number' ? `${name}[${step}]` : name === '' ? String(step) : `${name}.${String(step)}`,
    '',
  );
}

function yamlFault(file: string, lines: LineCounter, offset: number, message: string): FleetFault {
  const { line, col } = lines.linePos(offset);
  return { file, line, column: col, field: '', detail: `is not YAML: ${message.split('\n')[0] ?? message}` };
}

function wholeFile(file: string, detail: string): CheckedFleet {
  return { ok: false, faults: [{ file, line: 0, column: 0, field: '', detail }] };
}

const FLEET_FILE_WORDS: FileErrorWords = {
  missing: 'does not exist; `chargeair example --output fleet.yaml` writes one to begin with',
};
