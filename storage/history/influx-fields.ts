import { createHash } from 'node:crypto';
import { escape as escapes } from '@influxdata/influxdb-client';
import { CHANNEL_KEYS, type ChannelReading, judgementSchema } from '../../schemas/channel.ts';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import type { Indicator } from '../../schemas/indicator.ts';
import type { SignalSummary } from '../../schemas/operating-point.ts';
import { SIGNAL_KEYS } from '../../schemas/signals.ts';
import { CHANNEL_FIELDS, INDICATOR_FIELDS, INDICATOR_KEYS, SIGNAL_FIELDS } from './field-names.ts';
import type { SeriesOf } from './port.ts';

/**
 * A point is one row of this measurement: the unit is its only tag, `toMs` its time, all else a field. Names of signals,
 * indicators and channels are in the names of fields, so that a fleet has as many series as units times fields, for ever.
 */
export const MEASUREMENT = 'operating_point';
/** Start of the window, ms since 1970; every point has it. */
export const FROM_FIELD = 'fromMs';
/** Mark of the fields that a point has beside the two that all have. */
export const LAYOUT_FIELD = 'layout';

const JUDGEMENTS: readonly string[] = judgementSchema.options;

/** A value as the database gives it back. */
export type FieldValue = number | string;
export type Fields = ReadonlyMap<string, FieldValue>;

/** A point in line protocol with its time in milliseconds, and a mark of the fields that it has. */
export type Line = { readonly text: string; readonly layout: string };

/** The line of a point. Numbers are written in full: the shortest digits that give the same double again. */
export function lineOf(one: HistoryPoint): Line {
  const names: string[] = [];
  const fields: string[] = [];
  const put = (name: string, written: string) => {
    names.push(name);
    fields.push(`${name}=${written}`);
  };
  const putText = (name: string, text: string) => put(name, escapes.quoted(text));
  const putNumber = (name: string, value: number | undefined) => {
    if (value !== undefined) put(name, String(value));
  };
  for (const { key, mean, sd, count } of SIGNAL_FIELDS) {
    const summary = one.point.signals[key];
    if (summary === undefined) continue;
    putNumber(mean, summary.mean);
    putNumber(sd, summary.sd);
    put(count, `${summary.count}i`);
  }
  for (const { key, value, uncertainty, from, absent } of INDICATOR_FIELDS) {
    const indicator = one.indicators[key];
    if (indicator === undefined) continue;
    if ('absent' in indicator) {
      putText(absent, indicator.absent);
      continue;
    }
    putNumber(value, indicator.value);
    putNumber(uncertainty, indicator.standardUncertainty);
    putText(from, JSON.stringify(indicator.from));
  }
  for (const { key, observed, expected, sd, judgement, cusum } of CHANNEL_FIELDS) {
    const reading = one.channels[key];
    if (reading === undefined) continue;
    putNumber(observed, reading.observed);
    putText(judgement, reading.judgement);
    putNumber(expected, reading.expected);
    putNumber(sd, reading.sd);
    putNumber(cusum, reading.cusum);
  }
  const layout = layoutMark(names.join(' '));
  const head = `${MEASUREMENT},unit=${escapes.tag(one.point.unit)} ${FROM_FIELD}=${one.point.fromMs}i,${LAYOUT_FIELD}="${layout}"`;
  return { text: `${[head, ...fields].join(',')} ${one.point.toMs}`, layout };
}

const marks = new Map<string, string>();
/** A unit has a handful of layouts in its life; this many are far more than a process meets. */
const MARKS_KEPT = 1000;

/** Equal for points with the same fields, and for no others that anybody will meet: 64 bits of SHA-256. */
function layoutMark(names: string): string {
  const known = marks.get(names);
  if (known !== undefined) return known;
  const mark = createHash('sha256').update(names).digest('hex').slice(0, 16);
  if (marks.size >= MARKS_KEPT) marks.clear();
  marks.set(names, mark);
  return mark;
}

/** The point that {@link lineOf} wrote; `undefined` when what came back is none. */
export function pointOf(p: { unit: string; toMs: number; fields: Fields }): HistoryPoint | undefined {
  const { fields, toMs } = p;
  const number = (name: string) => {
    const value = fields.get(name);
    return typeof value === 'number' ? value : undefined;
  };
  const text = (name: string) => {
    const value = fields.get(name);
    return typeof value === 'string' ? value : undefined;
  };
  const fromMs = number(FROM_FIELD);
  if (fromMs === undefined) return undefined;
  const signals: Record<string, SignalSummary> = {};
  for (const key of SIGNAL_KEYS) {
    const mean = number(`signal.${key}.mean`);
    const sd = number(`signal.${key}.sd`);
    const count = number(`signal.${key}.count`);
    if (mean !== undefined && sd !== undefined && count !== undefined) signals[key] = { mean, sd, count };
  }
  const indicators: Record<string, Indicator> = {};
  for (const key of INDICATOR_KEYS) {
    const value = number(`indicator.${key}.value`);
    const standardUncertainty = number(`indicator.${key}.uncertainty`);
    const from = text(`indicator.${key}.from`);
    const absent = text(`indicator.${key}.absent`);
    if (value !== undefined && standardUncertainty !== undefined) {
      indicators[key] = { value, standardUncertainty, from: JSON.parse(from ?? '[]') as string[] };
    } else if (absent !== undefined) indicators[key] = { absent };
  }
  const channels: Record<string, ChannelReading> = {};
  for (const key of CHANNEL_KEYS) {
    const observed = number(`channel.${key}.observed`);
    const judgement = text(`channel.${key}.judgement`);
    if (observed === undefined || judgement === undefined || !isJudgement(judgement)) continue;
    const expected = number(`channel.${key}.expected`);
    const sd = number(`channel.${key}.sd`);
    const cusum = number(`channel.${key}.cusum`);
    channels[key] = {
      observed,
      judgement,
      ...(expected === undefined ? {} : { expected }),
      ...(sd === undefined ? {} : { sd }),
      ...(cusum === undefined ? {} : { cusum }),
    };
  }
  return { point: { version: 1, unit: p.unit, fromMs, toMs, signals }, indicators, channels };
}

function isJudgement(text: string): text is ChannelReading['judgement'] {
  return JUDGEMENTS.includes(text);
}

/** Fields that a series is made of; `undefined` for those that its kind does not have. */
export function seriesFields(of: SeriesOf): {
  readonly value: string;
  readonly expected?: string;
  readonly sd?: string;
} {
  const field = (part: string) => `${of.kind}.${of.name}.${part}`;
  switch (of.kind) {
    case 'signal':
      return { value: field('mean') };
    case 'indicator':
      return { value: field('value') };
    case 'channel':
      return { value: field('observed'), expected: field('expected'), sd: field('sd') };
    default:
      return of.kind satisfies never;
  }
}
