import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gunzipSync } from 'node:zlib';
import { parse as parseYaml } from 'yaml';
import { type FleetFile, fleetFileSchema } from '../../schemas/fleet-file.ts';
import type { SourceRule } from '../../schemas/source-rule.ts';

const data = join(dirname(fileURLToPath(import.meta.url)), '../data');
const fleet: FleetFile = fleetFileSchema.parse(parseYaml(readFileSync(join(data, 'fleet.yaml'), 'utf8')));

/** A decoder, the real lines that its inputs are made of, and what else to put into them. */
export type Subject = {
  readonly name: string;
  readonly rule: SourceRule;
  /** Stands unharmed before the inputs, such as the header of a table. */
  readonly head: string;
  readonly lines: readonly Buffer[];
  readonly tokens: readonly Buffer[];
};

/** Texts that have hurt readers of any format. */
const TOKENS = [
  ...['', ' ', '\t', '\0', '\r', '\n', '"', "'", ',', ';', ',,,,', ':', '#', '##', '[', ']', '(', ')', '{', '}', '\\'],
  ...[
    '1e999',
    '-1e999',
    '1e-999',
    'NaN',
    'nan',
    'Infinity',
    '-Infinity',
    '0x10',
    '1_000',
    '-0',
    '+1',
    '.',
    '-',
    '1.',
    '.1',
  ],
  ...[
    '99999999999999999999',
    '4294967296',
    '2147483648',
    '9007199254740993',
    '-1',
    '255',
    '256',
    '65536',
    '1785',
    '1786',
  ],
  ...['0000-01-01T00:00:00Z', '9999-12-31T23:59:59.999Z', '2024-02-30T00:00:00Z', '2024-01-01T24:00:00Z', '1970-01-01'],
  ...['0000-00-00 00:00:00', '+275760-09-13T00:00:00Z', '2016-02-28-19:58:05', '0', '0.000000', '1e309'],
  ...['__proto__', 'constructor', 'toString', 'null', 'true', 'undefined', '\uFEFF', '\u2028', '🚢', '℃'],
].map((text) => Buffer.from(text));
const RAW_TOKENS = [
  [0xff],
  [0xfe, 0xff],
  [0xc0, 0x80],
  [0xed, 0xa0, 0x80],
  [0x80],
  [0xf4, 0x90, 0x80, 0x80],
  [0x1f, 0x8b],
].map((bytes) => Buffer.from(bytes));
const BUS_TOKENS = [
  ...[
    '[9]',
    '[0]',
    '[8]',
    '[64]',
    '[-1]',
    '#R',
    '#R8',
    '##1',
    '1FFFFFFF',
    'FFFFFFFF',
    '20000000',
    '00000000',
    '7FF',
    'ERRORFRAME',
  ],
  ...[
    'FF'.repeat(64),
    '00'.repeat(9),
    'FF FF FF FF FF FF FF FF FF',
    'ff,'.repeat(30),
    '09F20101#601A',
    '09F20101#61',
    '1CECFF00#20',
  ],
  ...[
    '1CEBFF00#01',
    '18ECFF00#20FF06FFFFCAFE00',
    '18EBFF00#FFFFFFFFFFFFFFFF',
    '127489',
    '127488',
    '130312',
    '262386',
    'can0',
    'can1',
  ],
].map((text) => Buffer.from(text));
const JSON_TOKENS = [
  ...[
    '['.repeat(500),
    ']'.repeat(500),
    '{"a":'.repeat(300),
    '[[]]',
    '{}',
    '""',
    '"\\u0000"',
    '"\\ud800"',
    '1E400',
    '-1E400',
  ],
  ...[
    '"updates":[{},{},{}]',
    '"values":[null]',
    '"timestamp":null',
    '"value":{"a":[1,[2,[3]]]}',
    '"path":"propulsion..revolutions"',
  ],
  ...[
    '"path":"propulsion.__proto__.revolutions"',
    '"value":1e999',
    '"source":[]',
    '"context":"vessels.self"',
    '"version":"1"',
    '655.35',
  ],
].map((text) => Buffer.from(text));

/** Every decoder with its inputs. */
export function fuzzSubjects(): readonly Subject[] {
  const tokens = [...TOKENS, ...RAW_TOKENS];
  const long = linesOf('csv-obd-diesel/obd-diesel-drive.csv.gz');
  const bus = [
    ...linesOf('j1939-truck-drive/j1939-truck-drive.log.gz').slice(0, 4000),
    ...linesOf('j1939-truck-idle-faults/j1939-truck-idle-faults.log.gz').slice(0, 4000),
  ];
  const n2k = [
    ...linesOf('n2k-many-sources/n2k-many-sources.raw.gz').filter(isOfEngine),
    ...linesOf('n2k-engine-messages/low-battery.raw'),
    ...linesOf('n2k-engine-messages/boost.raw'),
    ...linesOf('n2k-single-diesel/n2k-single-diesel.raw.gz').slice(0, 2000),
  ];
  const deltas = ['signalk-twin-diesel/signalk-twin-diesel.jsonl.gz', 'signalk-from-n2k/boost.jsonl'].flatMap(linesOf);
  const table = wideTable(long);
  return [
    { name: 'csv_wide', rule: wideRule(), head: table.head, lines: table.lines, tokens },
    { name: 'csv_long', rule: ruleOf('car-log'), head: String(long[0]), lines: long.slice(1), tokens },
    {
      name: 'j1939_candump',
      rule: ruleOf('truck-drive-bus'),
      head: '',
      lines: bus,
      tokens: [...tokens, ...BUS_TOKENS],
    },
    { name: 'n2k_frames', rule: ruleOf('harbour-bus'), head: '', lines: n2k, tokens: [...tokens, ...BUS_TOKENS] },
    {
      name: 'n2k_candump',
      rule: ruleOf('packets-bus'),
      head: '',
      lines: candumpOf(n2k),
      tokens: [...tokens, ...BUS_TOKENS],
    },
    {
      name: 'signalk_delta',
      rule: ruleOf('cruiser-deltas'),
      head: '',
      lines: deltas,
      tokens: [...tokens, ...JSON_TOKENS],
    },
  ];
}

/** Ids of the units that rows may be of. */
export const FUZZ_UNITS: ReadonlySet<string> = new Set(fleet.units.map((unit) => unit.id));

function linesOf(path: string): Buffer[] {
  const bytes = readFileSync(join(data, path));
  const text = path.endsWith('.gz') ? gunzipSync(bytes) : bytes;
  return text
    .toString('latin1')
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => Buffer.from(line, 'latin1'));
}

function ruleOf(id: string): SourceRule {
  const rule = fleet.sources.find((source) => source.id === id);
  if (rule === undefined) throw new Error(`the fleet file of the data has the rule ${id}`);
  return rule;
}

function isOfEngine(line: Buffer): boolean {
  return /,(1274|1303)\d\d,/.test(line.toString('latin1'));
}

// Real readings of the long table, one row a second.
function wideTable(long: readonly Buffer[]): { head: string; lines: Buffer[] } {
  const channels = ['Engine RPM', 'Intake manifold absolute pressure', 'Barometric pressure'];
  const latest = new Map<string, string>();
  const lines = long.slice(1).flatMap((line, i) => {
    const [seconds = '', channel = '', value = ''] = line.toString('latin1').replaceAll('"', '').split(';');
    latest.set(channel, value);
    if (i % 20 > 0) return [];
    const fields = channels.map((name, at) => (at === 1 ? `"${latest.get(name) ?? ''}"` : (latest.get(name) ?? '')));
    return [Buffer.from([seconds, ...fields].join(','))];
  });
  return { head: ['SECONDS', ...channels].join(','), lines };
}

function wideRule(): SourceRule {
  return {
    id: 'fuzz-wide',
    files: '*.csv',
    format: 'csv_wide',
    unit: 'car-a',
    delimiter: ',',
    decimal: '.',
    skipLines: 0,
    notAvailable: [],
    time: { column: 'SECONDS', format: 'seconds_since_start', startsAt: '2019-03-05T21:17:15Z' },
    columns: {
      engineSpeed: { column: 'Engine RPM' },
      intakeManifoldPressureAbsolute: { column: 'Intake manifold absolute pressure' },
      barometricPressure: { column: 'Barometric pressure' },
    },
  };
}

// The messages of the text form as frames of either candump form, fast packets in pieces, beside real frames.
function candumpOf(messages: readonly Buffer[]): Buffer[] {
  const made = messages.flatMap((message, i) => {
    const [, priority, pgn, sender, , , ...bytes] = message.toString('latin1').trim().split(',');
    if (bytes.length === 0) return [];
    const identifier = (Number(priority) * 2 ** 26 + Number(pgn) * 256 + Number(sender))
      .toString(16)
      .toUpperCase()
      .padStart(8, '0');
    const frames = bytes.length <= 8 ? [bytes] : packetFrames(bytes, i);
    const time = `${(i / 100).toFixed(6)}`;
    return frames.map((frame) =>
      i % 2 === 0
        ? `(${time}) vcan0 ${identifier}#${frame.join('').toUpperCase()}`
        : ` (${time})  vcan0  ${identifier}   [${frame.length}]  ${frame.join(' ').toUpperCase()}`,
    );
  });
  return [...linesOf('n2k-engine-messages/fast-packet.log'), ...made.map((line) => Buffer.from(line))];
}

function packetFrames(bytes: readonly string[], counter: number): string[][] {
  const hex = (byte: number) => byte.toString(16).padStart(2, '0');
  const frames: string[][] = [[hex((counter & 7) << 5), hex(bytes.length), ...bytes.slice(0, 6)]];
  for (let from = 6; from < bytes.length; from += 7)
    frames.push([hex(((counter & 7) << 5) | (frames.length & 0x1f)), ...bytes.slice(from, from + 7)]);
  return frames;
}
