import { isSignalKey, type SignalKey } from '../schemas/signals.ts';
import type { CsvRule, J1939Rule, SourceRule } from '../schemas/source-rule.ts';
import { createFrame, readFrame } from './formats/candump-frame.ts';
import { utf8Text } from './formats/raw-text.ts';

const SNIFFED_ID = 'self-described';
const TIME_NAMES = ['time', 'timestamp', 't'];
const UNIT_NAMES = ['unit', 'unit_id'];
/** Below, epoch times are in seconds: 10^11 ms is 1973. */
const MILLISECONDS_FROM = 1e11;

/**
 * A rule for a file that describes itself: a candump log, or a CSV table with a `time` column whose headers are our
 * signal keys, with their unit in brackets where it is not the canonical one, such as `boostPressure [bar]`.
 *
 * @param p.head - First bytes of the file, unpacked.
 * @param p.name - The file's name.
 * @param p.unit - Whose readings they are, where the caller knows it.
 * @returns `undefined` when the file does not describe itself.
 */
export function sniffRule(p: { head: Uint8Array; name: string; unit: string | undefined }): SourceRule | undefined {
  const text = utf8Text(p.head) ?? utf8Text(p.head.subarray(0, p.head.lastIndexOf(0x0a) + 1));
  if (text === undefined) return undefined;
  const lines = text
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\n|\r/)
    .filter((line) => line.trim() !== '');
  const [first, second] = lines;
  if (first === undefined) return undefined;
  if (lines.slice(0, 5).some(isFrame)) return candumpRule(p);
  return csvRule({ ...p, header: first, row: second });
}

function isFrame(line: string): boolean {
  const bytes = new Uint8Array(line.length + 1);
  new TextEncoder().encodeInto(line, bytes);
  return readFrame(createFrame(), bytes, 0) === 'frame';
}

function candumpRule(p: { name: string; unit: string | undefined }): J1939Rule | undefined {
  if (p.unit === undefined) return undefined;
  return { id: SNIFFED_ID, files: p.name, format: 'j1939_candump', unit: p.unit, sourceAddress: 0 };
}

function csvRule(p: {
  header: string;
  row: string | undefined;
  name: string;
  unit: string | undefined;
}): CsvRule | undefined {
  const delimiters = [',', ';', '\t', '|'] as const;
  const delimiter = delimiters.find((sign) => p.header.includes(sign));
  if (delimiter === undefined) return undefined;
  const headers = split(p.header, delimiter);
  const columns: { [K in SignalKey]?: { column: string; unit?: string } } = {};
  for (const column of headers) {
    const named = /^(\w+)\s*(?:\[(.+)\])?$/.exec(column);
    const key = named?.[1];
    if (key !== undefined && isSignalKey(key))
      columns[key] = named?.[2] === undefined ? { column } : { column, unit: named[2] };
  }
  const time = headers.find((header) => TIME_NAMES.includes(header.toLowerCase()));
  const unitColumn = headers.find((header) => UNIT_NAMES.includes(header.toLowerCase()));
  if (time === undefined || Object.keys(columns).length === 0) return undefined;
  if (p.unit === undefined && unitColumn === undefined) return undefined;
  const firstTime = split(p.row ?? '', delimiter)[headers.indexOf(time)] ?? '';
  return {
    id: SNIFFED_ID,
    files: p.name,
    format: 'csv_wide',
    ...(p.unit !== undefined ? { unit: p.unit } : unitColumn === undefined ? {} : { unitColumn }),
    delimiter,
    decimal: delimiter === ';' && /\d,\d/.test(p.row ?? '') ? ',' : '.',
    skipLines: 0,
    notAvailable: [],
    time: { column: time, format: timeFormat(firstTime) },
    columns,
  };
}

function timeFormat(text: string): string {
  const number = Number(text);
  if (text === '' || !Number.isFinite(number)) return 'iso8601';
  return number < MILLISECONDS_FROM ? 'epoch_seconds' : 'epoch_milliseconds';
}

function split(line: string, delimiter: string): string[] {
  return line.split(delimiter).map((text) => text.trim().replace(/^"(.*)"$/, '$1'));
}
