// Layouts: canboat/canboat at 01d0dc3d (Apache-2.0), as in n2k-parameters.ts. Real messages: test/data/n2k-*.
import { describe, expect, test } from 'vitest';
import type { N2kRule } from '../../schemas/source-rule.ts';
import { decode } from './decode-for-tests.ts';
import { createFastPackets } from './n2k-fast-packet.ts';
import { n2kKind } from './n2k-parameters.ts';

function rule(changes: Partial<N2kRule> = {}): N2kRule {
  return {
    id: 'bus',
    files: '*.raw',
    format: 'n2k_frames',
    engines: { '0': 'port', '1': 'starboard' },
    sensors: [],
    leaveOut: [],
    ...changes,
  };
}

const AT = '2024-05-01T10:00:';
/** A message at a second of one minute. */
const line = (second: string, pgn: number, sender: number, bytes: string) =>
  `${AT}${second}Z,2,${pgn},${sender},255,${bytes.split(',').length},${bytes}`;
/** 130312: temperature in hundredths of a kelvin. */
const temperature = (second: string, p: { sender: number; instance: number; source: number; raw: number }) =>
  line(second, 130_312, p.sender, ['ff', hex(p.instance), hex(p.source), ...word(p.raw), 'ff', 'ff', 'ff'].join(','));
const hex = (byte: number) => byte.toString(16).padStart(2, '0');
const word = (raw: number) => [hex(raw & 0xff), hex(raw >> 8)];
const valuesOf = (decoded: ReturnType<typeof decode>, unit: string) =>
  decoded.rows.filter((row) => row.unit === unit).map((row) => row.values);

/** 127489 with a fuel rate of 0, load 50 % and torque 40 %; 26 bytes. */
const DYNAMIC = '00,28,00,ff,ff,bb,71,57,03,00,00,e0,b0,05,00,ff,ff,ff,ff,ff,00,00,00,00,32,28';

describe('the codes of a field', () => {
  test('are the three largest numbers, of signed fields the three largest positive ones', () => {
    const kinds = (raws: number[], byteCount: 1 | 2 | 3 | 4, isSigned: boolean) =>
      raws.map((raw) => n2kKind(raw, { byteCount, isSigned }));
    const codes = ['not_available', 'error', 'reserved', 'valid'];
    expect(kinds([0xff, 0xfe, 0xfd, 0xfc], 1, false)).toEqual(codes);
    expect(kinds([0xffff, 0xfffe, 0xfffd, 0xfffc], 2, false)).toEqual(codes);
    expect(kinds([0xffffff, 0xfffffe, 0xfffffd, 0xfffffc], 3, false)).toEqual(codes);
    expect(kinds([0xffffffff, 0xfffffffe, 0xfffffffd, 0xfffffffc], 4, false)).toEqual(codes);
    expect(kinds([0x7f, 0x7e, 0x7d, 0x7c], 1, true)).toEqual(codes);
    expect(kinds([0x7fff, 0x7ffe, 0x7ffd, 0x7ffc], 2, true)).toEqual(codes);
    expect(kinds([0x7fffffff, 0x7ffffffe, 0x7ffffffd, 0x7ffffffc], 4, true)).toEqual(codes);
  });

  test('a signed field of all ones is a filling, an ordinary negative number is not', () => {
    expect(n2kKind(0xff, { byteCount: 1, isSigned: true })).toBe('wrong_fill');
    expect(n2kKind(0xffff, { byteCount: 2, isSigned: true })).toBe('wrong_fill');
    expect(n2kKind(0xfe, { byteCount: 1, isSigned: true })).toBe('valid');
    const decoded = decode({ rule: rule(), bytes: line('00.000', 127_489, 5, DYNAMIC.replace(/28$/, 'f0')) });
    expect(valuesOf(decoded, 'port')[0]?.actualTorque).toBe(-16);
  });

  test('fillings are refused once a sender and quantity, and counted', () => {
    const filled = DYNAMIC.replace(/32,28$/, 'ff,ff');
    const lines = [0, 1, 2].map((i) => line(`0${i}.000`, 127_489, 5, filled)).join('\n');
    const decoded = decode({ rule: rule(), bytes: lines });
    expect(decoded.rejectedValues).toEqual({ value_out_of_range: 2 });
    expect(decoded.rejects.map(({ reject, position }) => [reject.field, position])).toEqual([
      ['engineLoad', 1],
      ['actualTorque', 1],
    ]);
    const counted = decoded.summary.n2k?.quantities.filter((item) => item.wrongFill > 0);
    expect(counted?.map((item) => [item.name, item.wrongFill])).toEqual([
      ['engineLoad', 3],
      ['engineTorque', 3],
    ]);
    expect(valuesOf(decoded, 'port').every((values) => values.engineLoad === undefined)).toBe(true);
  });
});

describe('engines', () => {
  test('each instance is its own unit, and one that the rule does not name is counted and not read', () => {
    const rapid = (instance: string) => `${instance},50,0c,14,00,ff,ff,ff`;
    const bytes = ['00', '01', '02', '02'].map((instance) => line('00.000', 127_488, 9, rapid(instance))).join('\n');
    const decoded = decode({ rule: rule(), bytes });
    expect(valuesOf(decoded, 'port')).toEqual([{ engineSpeed: 788, boostPressure: 2 }]);
    expect(valuesOf(decoded, 'starboard')).toEqual([{ engineSpeed: 788, boostPressure: 2 }]);
    expect(decoded.summary.n2k?.enginesLeftOut).toEqual(new Map([['2', 2]]));
    expect(decoded.sampleRows + decoded.emptyRows).toBe(4);
  });

  test('boost is absolute manifold pressure where the rule says so', () => {
    const bytes = line('00.000', 127_488, 9, '00,50,0c,f2,03,ff,ff,ff');
    const decoded = decode({ rule: rule({ references: { boostPressure: 'absolute' } }), bytes });
    expect(valuesOf(decoded, 'port')).toEqual([{ engineSpeed: 788, intakeManifoldPressureAbsolute: 101 }]);
  });

  test('what is around is around every engine, and an exhaust temperature is of none until the rule says whose', () => {
    const bytes = [
      temperature('00.100', { sender: 3, instance: 0, source: 1, raw: 29_315 }),
      temperature('00.200', { sender: 3, instance: 4, source: 14, raw: 67_315 % 65_536 }),
      temperature('00.300', { sender: 3, instance: 4, source: 14, raw: 62_315 }),
    ].join('\n');
    const silent = decode({ rule: rule(), bytes });
    for (const unit of ['port', 'starboard'])
      expect(valuesOf(silent, unit)).toEqual([{ ambientAirTemperature: expect.closeTo(20, 9) }]);
    const sensors = [{ signal: 'exhaustTemperature', unit: 'starboard', instance: 4, source: 14 }] as const;
    const named = decode({
      rule: rule({ sensors: [...sensors] }),
      bytes: bytes.split('\n').toSpliced(1, 1).join('\n'),
    });
    expect(valuesOf(named, 'starboard')[0]?.exhaustTemperature).toBeCloseTo(350, 9);
    expect(valuesOf(named, 'port')[0]?.exhaustTemperature).toBeUndefined();
    const single = decode({ rule: rule({ engines: { '0': 'port' } }), bytes: bytes.split('\n')[2] ?? '' });
    expect(valuesOf(single, 'port')[0]?.exhaustTemperature).toBeCloseTo(350, 9);
  });
});

describe('several senders of one quantity', () => {
  const sea = (second: string, sender: number, raw: number) =>
    temperature(second, { sender, instance: 0, source: 0, raw });

  test('one is read and never a mean of two: the lower address takes over from the next second', () => {
    const bytes = [
      sea('00.000', 8, 28_315),
      sea('00.500', 4, 29_315),
      sea('01.000', 8, 28_315),
      sea('01.500', 4, 29_315),
      sea('02.000', 8, 28_315),
      sea('02.500', 4, 29_315),
    ].join('\n');
    const got = valuesOf(decode({ rule: rule(), bytes }), 'port').map((values) => values.seaWaterTemperature);
    expect(got).toEqual([10, 20, 20].map((value) => expect.closeTo(value, 9)));
  });

  test('a lesser one steps in when the better has been silent for ten seconds', () => {
    const bytes = [sea('00.000', 4, 29_315), ...Array.from({ length: 14 }, (_, i) => sea(`${10 + i}.000`, 8, 28_315))];
    const decoded = decode({ rule: rule(), bytes: bytes.join('\n') });
    expect(decoded.rows.filter((row) => row.unit === 'port').map((row) => row.timeMs % 60_000)).toEqual([
      0,
      ...Array.from({ length: 13 }, (_, i) => (11 + i) * 1000),
    ]);
  });

  test('the finer message comes first, whatever the addresses', () => {
    const fine = line('00.000', 130_316, 90, 'ff,00,00,a8,78,04,ff,ff');
    const got = valuesOf(decode({ rule: rule(), bytes: [fine, sea('00.000', 4, 28_315)].join('\n') }), 'port');
    expect(got[0]?.seaWaterTemperature).toBeCloseTo(293.032 - 273.15, 9);
  });

  test('the rule names the one that is meant, and a sensor of a source outside the standard', () => {
    const sensors = [
      { signal: 'seaWaterTemperature', sender: 8 },
      { signal: 'intakeManifoldTemperature', unit: 'port', instance: 10, source: 132 },
    ] as const;
    const bytes = [
      sea('00.000', 4, 29_315),
      sea('00.500', 8, 28_315),
      temperature('00.600', { sender: 43, instance: 10, source: 132, raw: 32_315 }),
    ].join('\n');
    const decoded = decode({ rule: rule({ sensors: [...sensors] }), bytes });
    expect(valuesOf(decoded, 'port')).toEqual([
      { seaWaterTemperature: expect.closeTo(10, 9), intakeManifoldTemperature: expect.closeTo(50, 9) },
    ]);
    const left = decode({ rule: rule({ leaveOut: ['seaWaterTemperature'] }), bytes });
    expect(left.rows).toEqual([]);
    expect(left.summary.n2k?.quantities.length).toBe(3);
  });

  test('a value that cannot be does not make its sender the one that is read', () => {
    const bytes = [sea('00.000', 4, 24_902), sea('00.500', 8, 28_315)].join('\n');
    const decoded = decode({ rule: rule(), bytes });
    expect(decoded.rejectedValues).toEqual({ value_out_of_range: 1 });
    expect(valuesOf(decoded, 'port')).toEqual([{ seaWaterTemperature: expect.closeTo(10, 9) }]);
  });
});

describe('lines', () => {
  test('have times with and without decimals, with an offset, and with the hyphen of some gateways', () => {
    const times = [
      '2024-05-01T10:00:00.000Z',
      '2024-05-01T10:00:01Z',
      '2024-05-01T12:00:02+02:00',
      '2024-05-01-10:00:03',
      '2024-05-01-10:00:04.250',
      '2024-05-01T10:00:05.123456789Z',
    ];
    const bytes = times.map((time) => `${time},2,127488,9,255,8,00,50,0c,14,00,ff,ff,ff`).join('\r\n');
    const decoded = decode({ rule: rule(), bytes });
    expect(decoded.rejects).toEqual([]);
    expect(decoded.rows.map((row) => row.timeMs)).toEqual(
      [0, 1, 2, 3, 4, 5].map((second) => Date.UTC(2024, 4, 1, 10, 0, second)),
    );
  });

  test.each([
    ['frame_unreadable', 'TIME,PRIORITY,PGN,SOURCE,DESTINATION,LENGTH'],
    ['frame_unreadable', '2024-05-01T10:00:00Z,2,127488,9,255'],
    ['frame_unreadable', '2024-05-01T10:00:00Z,9,127488,9,255,1,00'],
    ['frame_unreadable', '2024-05-01T10:00:00Z,2,127488,256,255,1,00'],
    ['frame_unreadable', '2024-05-01T10:00:00Z,2,127488,9,255,2,00'],
    ['frame_unreadable', '2024-05-01T10:00:00Z,2,127488,9,255,2,00,xx'],
    ['frame_too_long', '2024-05-01T10:00:00Z,2,127488,9,255,1,00,00'],
    ['frame_too_long', '2024-05-01T10:00:00Z,2,127488,9,255,9999,00'],
    ['time_unreadable', 'yesterday,2,127488,9,255,1,00'],
    ['clock_before_fleet', '1970-01-01T00:00:00Z,2,127488,9,255,1,00'],
    ['clock_ahead', '9999-01-01T00:00:00Z,2,127488,9,255,1,00'],
  ])('%s refuses the line %s', (code, text) => {
    const decoded = decode({ rule: rule(), bytes: `# a remark\n${text}\n` });
    expect(decoded.rejectedRows).toEqual({ [code]: 1 });
    expect(decoded.summary.rowCount).toBe(1);
    expect(decoded.summary.n2k?.comments).toBe(1);
  });
});

describe('fast packets', () => {
  const frame = (bytes: number[]) => ({ sender: 3, data: Uint8Array.from(bytes), length: bytes.length });
  const first = (counter: number, size: number) => frame([counter << 5, size, 1, 2, 3, 4, 5, 6]);
  const next = (counter: number, index: number) => frame([(counter << 5) | index, 1, 2, 3, 4, 5, 6, 7]);

  test('are whole with their last frame, whatever is interleaved', () => {
    const packets = createFastPackets();
    expect(packets.frame(1, first(0, 14)).data).toBeUndefined();
    expect(packets.frame(1, first(1, 13)).data).toBeUndefined();
    expect(packets.frame(1, next(0, 1)).data).toBeUndefined();
    expect(packets.frame(1, next(1, 1)).data).toEqual(Uint8Array.from([1, 2, 3, 4, 5, 6, 1, 2, 3, 4, 5, 6, 7]));
    expect(packets.frame(1, next(0, 2)).data?.length).toBe(14);
    expect(packets.unfinished()).toBe(0);
  });

  test('that lack a frame give nothing, and are said to be lost', () => {
    const packets = createFastPackets();
    packets.frame(1, first(0, 26));
    expect(packets.frame(1, next(0, 2))).toEqual({ data: undefined, isEarlierLost: true });
    packets.frame(1, first(0, 26));
    expect(packets.frame(1, first(0, 26))).toEqual({ data: undefined, isEarlierLost: true });
    expect(packets.outOfSequence()).toBe(1);
    expect(packets.unfinished()).toBe(1);
  });

  test('never hold more than eight messages a sender and PGN', () => {
    const packets = createFastPackets();
    for (let sender = 0; sender < 256; sender += 1)
      for (let counter = 0; counter < 8; counter += 1) packets.frame(1, { ...first(counter, 223), sender });
    for (let i = 0; i < 100; i += 1) packets.frame(1, { ...first(i & 7, 223), sender: i });
    expect(packets.unfinished()).toBe(2048);
  });

  test('read the same as frames of text, as candump lines of either form, and joined', () => {
    const bytes = DYNAMIC.split(',');
    const frames = [0, 1, 2, 3].map((index) => {
      const part = index === 0 ? bytes.slice(0, 6) : bytes.slice(6 + 7 * (index - 1), 6 + 7 * index);
      const head = index === 0 ? [hex(0x40), hex(bytes.length)] : [hex(0x40 | index)];
      return [...head, ...part, ...Array<string>(8).fill('ff')].slice(0, 8);
    });
    const joined = decode({ rule: rule(), bytes: line('00.000', 127_489, 5, DYNAMIC) });
    const text = decode({
      rule: rule(),
      bytes: frames.map((part) => line('00.000', 127_489, 5, part.join(','))).join('\n'),
    });
    const seconds = Date.UTC(2024, 4, 1, 10) / 1000;
    const candump = rule({ format: 'n2k_candump' });
    const compact = frames.map((part) => `(${seconds}.000000) can0 09F20105#${part.join('').toUpperCase()}`);
    const shown = frames.map((part) => ` (${seconds}.000000)  can0  09F20105   [8]  ${part.join(' ').toUpperCase()}`);
    expect(joined.rows[0]?.values).toMatchObject({ engineLoad: 50, actualTorque: 40, oilPressure: 4, fuelRate: 0 });
    for (const other of [
      text,
      decode({ rule: candump, bytes: compact.join('\n') }),
      decode({ rule: candump, bytes: shown.join('\n') }),
    ])
      expect(other.rows).toEqual(joined.rows);
  });

  test('a lost one is a refused value of the row that shows it', () => {
    const frames = ['60,1a,00,b7,06,67,0d,0b', '62,09,00,00,00,8f,02,7f'];
    const decoded = decode({
      rule: rule(),
      bytes: frames.map((bytes) => line('00.000', 127_489, 1, bytes)).join('\n'),
    });
    expect(decoded.rejectedValues).toEqual({ transport_incomplete: 1 });
    expect(decoded.emptyRows).toBe(2);
  });
});
