import type { z } from 'zod';
import { liveMessageSchema, MESSAGE_SAMPLES_MAX } from '../../schemas/live-message.ts';
import { accept, type Checked, type Reject, type RejectCode, refuse } from '../../schemas/reject.ts';
import { isSignalKey, type SignalKey } from '../../schemas/signals.ts';
import { type ClockLimits, clockReject, rangeReject } from '../checks.ts';
import { type ColumnPlan, planColumns } from '../formats/csv-columns.ts';
import { utf8Text } from '../formats/raw-text.ts';
import { parseIsoInstant } from '../formats/time-reader.ts';
import { type Collector, createCollector, type MessageBatch, refusedMessage } from './message-collector.ts';

/** What a message may be about. */
export type MessageContext = {
  /** Units that its sender may name. */
  readonly unitIds: ReadonlySet<string>;
  readonly clock: ClockLimits;
};

/** Whole samples in columns, as a message states them, before units and clock are looked at. */
export type StatedSamples = {
  readonly unit: string;
  readonly t: readonly (number | string)[];
  readonly signals: { readonly [key: string]: readonly (number | null)[] | undefined };
  readonly units?: { readonly [key: string]: string | undefined } | undefined;
  readonly references?: { readonly [key: string]: 'gauge' | 'absolute' | 'differential' | undefined } | undefined;
};

/**
 * Reads the JSON message of a source.
 *
 * @param bytes - The message as it came.
 * @returns Its samples in canonical units, and what of it was refused. A value that cannot be read does not take the
 *   others with it; a message that does not follow its schema is refused whole.
 */
export function parseLiveMessage(bytes: Uint8Array, context: MessageContext): MessageBatch {
  const raw = () => bytes;
  const text = utf8Text(bytes);
  if (text === undefined) return refusedMessage(raw, wholly('encoding_unreadable', 'The message is not UTF-8 text.'));
  const written = jsonOf(text);
  if (!written.ok) return refusedMessage(raw, written.reject);
  return readLiveMessage(written.value, raw, context);
}

/** The value of a JSON text; `record_unreadable` when it is none. */
export function jsonOf(text: string): Checked<unknown> {
  try {
    return accept(JSON.parse(text) as unknown);
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    return refuse('record_unreadable', '', `This is not JSON: ${error.message.slice(0, 200)}.`);
  }
}

/**
 * As {@link parseLiveMessage}, for a message that has been parsed.
 *
 * @param bytes - Its text; asked for when something of it is refused.
 */
export function readLiveMessage(written: unknown, bytes: () => Uint8Array, context: MessageContext): MessageBatch {
  if (!isObject(written)) {
    return refusedMessage(bytes, wholly('record_unreadable', 'The message is no JSON object; see its JSON Schema.'));
  }
  const version = written['version'];
  if (typeof version === 'number' && version !== 1) {
    return refusedMessage(
      bytes,
      refuse(
        'version_unknown',
        'version',
        `The message has version ${version}, and this program knows 1; have the sender write version 1, or use the newer program.`,
      ).reject,
    );
  }
  const size = tooLarge(written);
  if (size !== undefined) return refusedMessage(bytes, size);
  const checked = liveMessageSchema.safeParse(written);
  const collector = createCollector(bytes);
  let message = checked.data;
  if (message === undefined) {
    const issues = checked.error?.issues ?? [];
    const whole = issues.find((issue) => !isAboutValue(issue));
    if (whole !== undefined) return refusedMessage(bytes, issueReject(whole));
    // Only single values are wrong: they are refused, the others stand.
    const mended = liveMessageSchema.safeParse(withoutValues(written, issues, collector));
    if (!mended.success) return refusedMessage(bytes, issueReject(mended.error.issues[0]));
    message = mended.data;
  }
  const { unit, units, references } = message;
  const stated =
    message.reading === undefined
      ? { t: message.samples?.t ?? [], signals: message.samples?.signals ?? {} }
      : {
          t: [message.reading.t],
          signals: Object.fromEntries(
            Object.entries(message.reading.signals).map(([key, value]) => [key, [value ?? null]]),
          ),
        };
  return readSamples({ unit, units, references, ...stated }, collector, context);
}

/** Samples in canonical units of what a message states; times and values outside what can be are refused one by one. */
export function readSamples(stated: StatedSamples, collector: Collector, context: MessageContext): MessageBatch {
  if (!context.unitIds.has(stated.unit)) {
    collector.row({
      reject: refuse(
        'unit_not_in_fleet',
        'unit',
        `"${stated.unit.slice(0, 60)}" is no unit that this source may send readings of; add it to the fleet file, or correct the name.`,
      ).reject,
      count: Math.max(1, stated.t.length),
      position: 1,
    });
    return collector.batch({ samples: [], emptyRows: 0 });
  }
  const plans = plansOf(stated, collector);
  const rows: number[] = [];
  const times: number[] = [];
  for (const [index, written] of stated.t.entries()) {
    const timeMs = Math.round(typeof written === 'number' ? written : parseIsoInstant(written));
    const reject = Number.isNaN(timeMs) ? unreadableTime(written) : clockReject(timeMs, context.clock);
    if (reject === undefined) {
      rows.push(index);
      times.push(timeMs);
    } else collector.row({ reject, count: 1, position: index + 1, unit: stated.unit });
  }
  const columns = new Map<SignalKey, Float64Array>();
  for (const plan of plans) {
    const values = stated.signals[plan.column] ?? [];
    const column = new Float64Array(rows.length).fill(Number.NaN);
    let hasValue = false;
    for (const [at, index] of rows.entries()) {
      const written = values[index];
      if (written === null || written === undefined) continue;
      const value = written * plan.scale + plan.offset;
      const reject = rangeReject({ key: plan.key, value });
      if (reject === undefined) {
        column[at] = value;
        hasValue = true;
      } else collector.value({ reject, position: index + 1, unit: stated.unit });
    }
    if (hasValue) columns.set(plan.key, column);
  }
  const filled = withoutEmptyRows(Float64Array.from(times), columns);
  const samples = filled.timesMs.length === 0 ? [] : [{ unit: stated.unit, ...filled }];
  return collector.batch({ samples, emptyRows: rows.length - filled.timesMs.length });
}

function plansOf(stated: StatedSamples, collector: Collector): readonly ColumnPlan[] {
  const keys = Object.keys(stated.signals).filter(isSignalKey);
  const { plans, rejects } = planColumns({
    columns: Object.fromEntries(
      keys.map((key) => {
        const unit = stated.units?.[key];
        const reference = stated.references?.[key];
        return [
          key,
          { column: key, ...(unit === undefined ? {} : { unit }), ...(reference === undefined ? {} : { reference }) },
        ];
      }),
    ),
  });
  for (const reject of rejects) collector.value({ reject, position: 1, unit: stated.unit });
  return plans;
}

function withoutEmptyRows(
  timesMs: Float64Array,
  columns: ReadonlyMap<SignalKey, Float64Array>,
): { readonly timesMs: Float64Array; readonly columns: ReadonlyMap<SignalKey, Float64Array> } {
  const all = [...columns.values()];
  const isFilled = (_: number, at: number) => all.some((values) => !Number.isNaN(values[at]));
  if (timesMs.every(isFilled)) return { timesMs, columns };
  return {
    timesMs: timesMs.filter(isFilled),
    columns: new Map([...columns].map(([key, values]) => [key, values.filter(isFilled)])),
  };
}

function wholly(code: RejectCode, detail: string): Reject {
  return refuse(code, '', detail).reject;
}

function unreadableTime(written: number | string): Reject {
  return refuse(
    'time_unreadable',
    't',
    `"${String(written).slice(0, 60)}" is no time; write ISO 8601 with an offset, or ms since 1970 UTC.`,
  ).reject;
}

// Looked at before the schema, which would make a note of every value of a flood.
function tooLarge(written: { readonly [key: string]: unknown }): Reject | undefined {
  const samples = written['samples'];
  if (!isObject(samples)) return undefined;
  const { t, signals } = samples;
  const lists = [t, ...(isObject(signals) ? Object.values(signals) : [])].filter(Array.isArray);
  if (lists.every((list) => list.length <= MESSAGE_SAMPLES_MAX)) return undefined;
  return refuse(
    'record_unreadable',
    'samples',
    `A message holds ${MESSAGE_SAMPLES_MAX} samples at most; send the run in several.`,
  ).reject;
}

type Issue = z.core.$ZodIssue;

function isAboutValue(issue: Issue): boolean {
  const [first, second] = issue.path;
  if (second !== 'signals' || (first !== 'samples' && first !== 'reading')) return false;
  if (issue.code === 'unrecognized_keys') return issue.path.length === 2;
  return issue.path.length === (first === 'samples' ? 4 : 3);
}

function issueReject(issue: Issue | undefined): Reject {
  const path = issue?.path.map(String).join('.') ?? '';
  const keys = issue?.code === 'unrecognized_keys' ? ` (${issue.keys.slice(0, 5).join(', ')})` : '';
  return refuse(
    'record_unreadable',
    path,
    `${path === '' ? 'The message' : path} is not as the JSON Schema of live messages says: ${issue?.message ?? 'unreadable'}${keys}.`,
  ).reject;
}

function withoutValues(
  written: { readonly [key: string]: unknown },
  issues: readonly Issue[],
  collector: Collector,
): unknown {
  // Copied as deep as values stand and no deeper: what stands in place of a value may be nested without end.
  const copy: Record<string, unknown> = { ...written };
  const form = isObject(copy['samples']) ? 'samples' : 'reading';
  const old = copy[form];
  const signals: Record<string, unknown> = isObject(old) && isObject(old['signals']) ? { ...old['signals'] } : {};
  for (const [key, values] of Object.entries(signals)) if (Array.isArray(values)) signals[key] = values.slice();
  copy[form] = { ...(isObject(old) ? old : {}), signals };
  const unit = typeof written['unit'] === 'string' ? { unit: written['unit'] } : {};
  for (const issue of issues) {
    if (issue.code === 'unrecognized_keys') {
      for (const name of issue.keys) {
        delete signals[name];
        const detail = `"${name.slice(0, 60)}" is no signal that is known here; \`chargeair signals\` lists those that are.`;
        collector.value({ reject: refuse('signal_unknown', name.slice(0, 60), detail).reject, position: 1, ...unit });
      }
      continue;
    }
    const [, , key = '', index] = issue.path.map((step) => (typeof step === 'number' ? step : String(step)));
    const values = signals[key];
    const position = typeof index === 'number' ? index + 1 : 1;
    if (Array.isArray(values) && typeof index === 'number') values[index] = null;
    else signals[key] = null;
    const detail = `A value of ${key} is no finite number; write a number, or null where there is none.`;
    collector.value({ reject: refuse('number_unreadable', String(key), detail).reject, position, ...unit });
  }
  return copy;
}

function isObject(value: unknown): value is { readonly [key: string]: unknown } {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
