import type { CsvRule } from '../../schemas/source-rule.ts';
import { rangeReject } from '../checks.ts';
import { type CsvRowReader, type CsvTable, createCsvDecoder } from './csv-decoder.ts';
import type { CsvLayout } from './csv-layout.ts';
import { type CsvRecord, fieldBytes } from './csv-record.ts';
import { BATCH_ROWS, type DecodeContext, type Decoder, type Samples } from './decoder.ts';
import { rawText } from './raw-text.ts';
import { addValue, emptyStatistics, type RunningStatistics } from './running-statistics.ts';
import { createSecondMeans, type SecondMeans } from './second-means.ts';

/** Long files are often sorted by channel, so a day of seconds stays open. */
const OPEN_SECONDS_MAX = 90_000;

/** Channels told apart in one file; rows of further ones are counted together. */
const CHANNELS_MAX = 2000;
const OTHER_CHANNELS = 'further channels';

type Channel = {
  /** Index of the signal, -1 where no column of the rule names the channel. */
  readonly signal: number;
  readonly statistics: RunningStatistics;
  rowCount: number;
  /** By unit, the last row, to know one that is said twice. */
  readonly last: Map<string, { timeMs: number; text: string }>;
};

/** Decoder for long tables: one row a reading, with a column that names the channel and one with the number. */
export function createCsvLongDecoder(context: DecodeContext<CsvRule>): Decoder {
  return createCsvDecoder(context, createLongReader);
}

function createLongReader(table: CsvTable, layout: CsvLayout): CsvRowReader {
  const { plans } = layout;
  const channels = new Map<string, Channel>();
  const meansByUnit = new Map<string, SecondMeans>();
  const keys = plans.map((plan) => plan.key);
  let rows = 0;
  let repeatedRows = 0;
  for (const [signal, plan] of plans.entries()) {
    const statistics = emptyStatistics();
    table.statistics.set(plan.key, statistics);
    channels.set(plan.column, { signal, statistics, rowCount: 0, last: new Map() });
  }
  const meansOf = (unit: string): SecondMeans => {
    let means = meansByUnit.get(unit);
    if (means === undefined) {
      means = createSecondMeans({ unit, keys, openSecondsMax: OPEN_SECONDS_MAX });
      meansByUnit.set(unit, means);
    }
    return means;
  };
  const channelOf = (name: string): Channel => {
    const known = channels.get(name);
    if (known !== undefined) return known;
    const filed = channels.size < CHANNELS_MAX ? name : OTHER_CHANNELS;
    const channel = channels.get(filed) ?? { signal: -1, statistics: emptyStatistics(), rowCount: 0, last: new Map() };
    channels.set(filed, channel);
    return channel;
  };

  const record = (found: CsvRecord, bytes: Uint8Array, raw: Uint8Array, position: number): void => {
    const head = table.readHead({ record: found, bytes, raw, position, layout });
    if (head === undefined) return;
    const name = rawText(fieldBytes(found, bytes, layout.channelIndex)).trim();
    const channel = channelOf(name);
    const plan = plans[channel.signal];
    const text = rawText(fieldBytes(found, bytes, layout.valueIndex));
    const read =
      plan === undefined
        ? { kind: 'not_available' as const }
        : table.readValue({ record: found, bytes, index: layout.valueIndex, column: name });
    if (read.kind === 'unreadable') {
      table.rejects.row({ reject: read.reject, position, raw, unit: head.unit });
      return;
    }
    const value = read.kind === 'number' && plan !== undefined ? read.value * plan.scale + plan.offset : undefined;
    const reject = value === undefined || plan === undefined ? undefined : rangeReject({ key: plan.key, value });
    if (reject !== undefined) {
      table.rejects.row({ reject, position, raw, unit: head.unit });
      return;
    }
    channel.rowCount += 1;
    rows += 1;
    if (value !== undefined) addValue(channel.statistics, { value, timeMs: head.exactTimeMs });
    const last = channel.last.get(head.unit);
    const isRepeated = last?.timeMs === head.exactTimeMs && last.text === text;
    channel.last.set(head.unit, { timeMs: head.exactTimeMs, text });
    if (isRepeated) {
      repeatedRows += 1;
      return;
    }
    const means = meansOf(head.unit);
    means.countRow(head.exactTimeMs);
    if (value !== undefined) means.add({ signal: channel.signal, timeMs: head.exactTimeMs, value });
  };

  return {
    record,
    isFull: () => rows >= BATCH_ROWS,
    take(isLast) {
      const samples: Samples[] = [];
      let emptyRows = 0;
      for (const means of meansByUnit.values()) {
        const taken = means.take(isLast);
        emptyRows += taken.emptyRows;
        if (taken.samples !== undefined) samples.push(taken.samples);
      }
      const batch = { samples, emptyRows, repeatedRows };
      rows = 0;
      repeatedRows = 0;
      return batch;
    },
    unmapped: () =>
      new Map(
        [...channels].flatMap(([name, channel]) => (channel.signal < 0 ? [[name, channel.rowCount] as const] : [])),
      ),
  };
}
