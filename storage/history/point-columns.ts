import { type ChannelReading, judgementSchema } from '../../schemas/channel.ts';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import type { Indicator } from '../../schemas/indicator.ts';
import type { SignalSummary } from '../../schemas/operating-point.ts';
import { SIGNALS } from '../../schemas/signals.ts';
import { type Chunk, type ChunkColumn, EXACT, encodeChunk, openChunk } from './chunk-codec.ts';
import { CHANNEL_FIELDS, INDICATOR_FIELDS, SIGNAL_FIELDS } from './field-names.ts';
import type { SeriesOf } from './port.ts';
import type { SeriesValue } from './thin.ts';

/** Digits kept of measured, derived and expected quantities: at worst 0.05 %, a tenth of what good sensors can tell. */
const VALUE_DIGITS = 4;
/** Digits kept of spreads, standard uncertainties and control statistics; JCGM 100:2008, 7.2.6 holds two to suffice. */
const SPREAD_DIGITS = 2;
/** Digits kept of what departures are divided by. */
const STATISTIC_DIGITS = 3;
/** Counters of running hours rise over a life of 10^5 hours and are looked at to the minute. */
const HOURS_DIGITS = 9;

const JUDGEMENTS = judgementSchema.options;

const TO_MS = 'toMs';
const DURATION_MS = 'durationMs';

const signalColumns = SIGNAL_FIELDS.map((names) => ({
  ...names,
  digits: SIGNALS[names.key].unit === 'h' ? HOURS_DIGITS : VALUE_DIGITS,
}));
const near = new Map(CHANNEL_FIELDS.map(({ observed, expected }) => [expected, observed]));

/** Packs points of one unit, in the order of their times. */
export function encodePoints(points: readonly HistoryPoint[]): Uint8Array {
  const columns = new Map<string, ChunkColumn & { readonly values: (number | undefined)[] }>();
  const texts = new Map<string, number>();
  const textPlace = (text: string) => {
    const place = texts.get(text) ?? texts.size;
    texts.set(text, place);
    return place;
  };
  points.forEach((one, row) => {
    const put = (name: string, digits: number, value: number | undefined) => {
      if (value === undefined) return;
      let column = columns.get(name);
      if (column === undefined) {
        column = { name, digits, values: new Array<number | undefined>(points.length).fill(undefined) };
        columns.set(name, column);
      }
      column.values[row] = value;
    };
    put(TO_MS, EXACT, one.point.toMs);
    put(DURATION_MS, EXACT, one.point.toMs - one.point.fromMs);
    for (const { key, mean, sd, count, digits } of signalColumns) {
      const summary = one.point.signals[key];
      if (summary === undefined) continue;
      put(mean, digits, summary.mean);
      put(sd, SPREAD_DIGITS, summary.sd);
      put(count, EXACT, summary.count);
    }
    for (const { key, value, uncertainty, from, absent } of INDICATOR_FIELDS) {
      const indicator = one.indicators[key];
      if (indicator === undefined) continue;
      if ('absent' in indicator) {
        put(absent, EXACT, textPlace(indicator.absent));
        continue;
      }
      put(value, VALUE_DIGITS, indicator.value);
      put(uncertainty, SPREAD_DIGITS, indicator.standardUncertainty);
      put(from, EXACT, textPlace(JSON.stringify(indicator.from)));
    }
    for (const { key, observed, expected, sd, judgement, cusum } of CHANNEL_FIELDS) {
      const reading = one.channels[key];
      if (reading === undefined) continue;
      put(observed, VALUE_DIGITS, reading.observed);
      put(expected, VALUE_DIGITS, reading.expected);
      put(sd, STATISTIC_DIGITS, reading.sd);
      put(judgement, EXACT, JUDGEMENTS.indexOf(reading.judgement));
      put(cusum, SPREAD_DIGITS, reading.cusum);
    }
  });
  return encodeChunk({ rows: points.length, columns: [...columns.values()], texts: [...texts.keys()], near });
}

/** The points that {@link encodePoints} packed, their numbers rounded. */
export function decodePoints(unit: string, packed: Uint8Array): HistoryPoint[] {
  const chunk = openChunk(packed);
  const columns = new Map(chunk.names.map((name) => [name, chunk.column(name)]));
  const names = new Set(chunk.names);
  const signals = signalColumns.filter(({ mean }) => names.has(mean));
  const indicators = INDICATOR_FIELDS.filter(({ value, absent }) => names.has(value) || names.has(absent));
  const channels = CHANNEL_FIELDS.filter(({ observed }) => names.has(observed));
  const fromTexts = new Map<number, string[]>();
  const fromAt = (place: number | undefined): string[] => {
    const known = fromTexts.get(place ?? -1) ?? (JSON.parse(chunk.texts[place ?? -1] ?? '[]') as string[]);
    fromTexts.set(place ?? -1, known);
    return known;
  };
  return Array.from({ length: chunk.rows }, (_, row) => {
    const at = (name: string) => columns.get(name)?.[row];
    const toMs = at(TO_MS) ?? 0;
    const point = {
      point: {
        version: 1 as const,
        unit,
        fromMs: toMs - (at(DURATION_MS) ?? 0),
        toMs,
        signals: {} as Record<string, SignalSummary>,
      },
      indicators: {} as Record<string, Indicator>,
      channels: {} as Record<string, ChannelReading>,
    };
    for (const column of signals) {
      const mean = at(column.mean);
      if (mean === undefined) continue;
      point.point.signals[column.key] = { mean, sd: at(column.sd) ?? 0, count: at(column.count) ?? 0 };
    }
    for (const column of indicators) {
      const value = at(column.value);
      const absent = chunk.texts[at(column.absent) ?? -1];
      if (value !== undefined) {
        point.indicators[column.key] = {
          value,
          standardUncertainty: at(column.uncertainty) ?? 0,
          from: fromAt(at(column.from)),
        };
      } else if (absent !== undefined) point.indicators[column.key] = { absent };
    }
    for (const column of channels) {
      const observed = at(column.observed);
      const judgement = JUDGEMENTS[at(column.judgement) ?? -1];
      if (observed === undefined || judgement === undefined) continue;
      const reading: { -readonly [K in keyof ChannelReading]: ChannelReading[K] } = { observed, judgement };
      const expected = at(column.expected);
      const sd = at(column.sd);
      const cusum = at(column.cusum);
      if (expected !== undefined) reading.expected = expected;
      if (sd !== undefined) reading.sd = sd;
      if (cusum !== undefined) reading.cusum = cusum;
      point.channels[column.key] = reading;
    }
    return point;
  });
}

/** One series of a packed chunk, without unpacking the rest. */
export function* seriesOfChunk(
  packed: Uint8Array,
  of: SeriesOf,
): Generator<{ readonly atMs: number; readonly one: SeriesValue }> {
  const chunk = openChunk(packed);
  const { value, expected, sd } = columnsOf(chunk, of);
  if (value === undefined) return;
  const times = chunk.column(TO_MS) ?? [];
  for (let row = 0; row < chunk.rows; row += 1) {
    const own = value[row];
    const atMs = times[row];
    if (own !== undefined && atMs !== undefined)
      yield { atMs, one: { value: own, expected: expected?.[row], sd: sd?.[row] } };
  }
}

function columnsOf(chunk: Chunk, of: SeriesOf) {
  const column = (part: string) => chunk.column(`${of.kind}.${of.name}.${part}`);
  switch (of.kind) {
    case 'signal':
      return { value: column('mean'), expected: undefined, sd: undefined };
    case 'indicator':
      return { value: column('value'), expected: undefined, sd: undefined };
    case 'channel':
      return { value: column('observed'), expected: column('expected'), sd: column('sd') };
    default:
      return of.kind satisfies never;
  }
}
