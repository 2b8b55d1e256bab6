import { Point } from '@influxdata/influxdb-client';
import { CHANNEL_KEYS, type ChannelReading, judgementSchema } from '../../schemas/channel.ts';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import { INDICATORS, type Indicator, type IndicatorKey } from '../../schemas/indicator.ts';
import type { SignalSummary } from '../../schemas/operating-point.ts';
import { SIGNAL_KEYS } from '../../schemas/signals.ts';
import type { SeriesOf } from './port.ts';

/**
 * A point is one row of this measurement: the unit is its only tag, `toMs` its time, all else a field. Names of signals,
 * indicators and channels are in the names of fields, so that a fleet has as many series as units times fields, for ever.
 */
export const MEASUREMENT = 'operating_point';
/** Start of the window, ms since 1970; every point has it. */
export const FROM_FIELD = 'fromMs';
/** Names of the fields that a point has beside the two that all have. */
export const LAYOUT_FIELD = 'layout';

const INDICATOR_KEYS = Object.keys(INDICATORS) as readonly IndicatorKey[];
const JUDGEMENTS: readonly string[] = judgementSchema.options;

/** A value as the database gives it back. */
export type FieldValue = number | string;
export type Fields = ReadonlyMap<string, FieldValue>;

/** The fields of a point, and which of them are whole numbers. */
export function fieldsOf(one: HistoryPoint): { readonly fields: Fields; readonly whole: ReadonlySet<string> } {
  const fields = new Map<string, FieldValue>();
  const whole = new Set<string>();
  const put = (name: string, value: FieldValue | undefined) => {
    if (value !== undefined) fields.set(name, value);
  };
  for (const key of SIGNAL_KEYS) {
    const summary = one.point.signals[key];
    if (summary === undefined) continue;
    put(`signal.${key}.mean`, summary.mean);
    put(`signal.${key}.sd`, summary.sd);
    put(`signal.${key}.count`, summary.count);
    whole.add(`signal.${key}.count`);
  }
  for (const key of INDICATOR_KEYS) {
    const indicator = one.indicators[key];
    if (indicator === undefined) continue;
    if ('absent' in indicator) {
      put(`indicator.${key}.absent`, indicator.absent);
      continue;
    }
    put(`indicator.${key}.value`, indicator.value);
    put(`indicator.${key}.uncertainty`, indicator.standardUncertainty);
    put(`indicator.${key}.from`, JSON.stringify(indicator.from));
  }
  for (const key of CHANNEL_KEYS) {
    const reading = one.channels[key];
    if (reading === undefined) continue;
    put(`channel.${key}.observed`, reading.observed);
    put(`channel.${key}.judgement`, reading.judgement);
    put(`channel.${key}.expected`, reading.expected);
    put(`channel.${key}.sd`, reading.sd);
    put(`channel.${key}.cusum`, reading.cusum);
  }
  return { fields, whole };
}

/** Names of the fields as one text; a space is in none of them. */
export function layoutOf(fields: Fields): string {
  return [...fields.keys()].join(' ');
}

/** A point in line protocol, with its time in milliseconds. */
export function lineOf(one: HistoryPoint): string {
  const { fields, whole } = fieldsOf(one);
  const line = new Point(MEASUREMENT).tag('unit', one.point.unit).timestamp(one.point.toMs);
  line.intField(FROM_FIELD, one.point.fromMs).stringField(LAYOUT_FIELD, layoutOf(fields));
  for (const [name, value] of fields) {
    if (typeof value === 'string') line.stringField(name, value);
    else if (whole.has(name)) line.intField(name, value);
    else line.floatField(name, value);
  }
  const text = line.toLineProtocol();
  if (text === undefined) throw new Error('a point with fields has a line');
  return text;
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
