import { describe, expect, test } from 'vitest';
import { busRule, decode } from './decode-for-tests.ts';

const at = (second: number) => `(17000000${String(second).padStart(2, '0')}.500000)`;
/** IC1, PGN 65270: boost byte 2, 2 kPa a bit; manifold temperature byte 3, 1 degC a bit from -40 (SAE J1939-71). */
const boost = (second: number, kpa: number, address = '00') =>
  `${at(second)} can0 18FEF6${address}#FF${(kpa / 2).toString(16).padStart(2, '0').toUpperCase()}5AFFFFFFFFFF\n`;

describe('a line that is no frame is refused alone', () => {
  const BAD: readonly (readonly [string, string])[] = [
    ['not a frame\n', 'frame_unreadable'],
    [`${at(1)} can0 18FEF600\n`, 'frame_unreadable'],
    [`${at(1)} can0 18FEF60#FF\n`, 'frame_unreadable'],
    [`${at(1)} can0 18FEF600#FFF\n`, 'frame_unreadable'],
    [`${at(1)} can0 18FEF600#GG\n`, 'frame_unreadable'],
    [`${at(1)} can0 18FEF600##1FF\n`, 'frame_unreadable'],
    [`${at(1)} can0 18FEF600#FFFFFFFFFFFFFFFFFF\n`, 'frame_too_long'],
    [` ${at(1)}  can0  18FEF600   [9]  FF FF FF FF FF FF FF FF FF\n`, 'frame_too_long'],
    [` ${at(1)}  can0  18FEF600   [2]  FF FF FF\n`, 'frame_too_long'],
    [` ${at(1)}  can0  18FEF600   [8]  FF FF\n`, 'frame_unreadable'],
    [` ${at(1)}  can0  18FEF600  [12]  FF FF FF FF FF FF FF FF FF FF FF FF\n`, 'frame_unreadable'],
    ['(99999999999.0) can0 18FEF600#FF\n', 'clock_ahead'],
    ['(12.0) can0 18FEF600#FF\n', 'clock_before_fleet'],
    [`${'x'.repeat(1_000_000)}\n`, 'line_too_long'],
  ];
  test.each(BAD)('%s', (bad, code) => {
    const got = decode({ rule: busRule(), bytes: boost(0, 100) + bad + boost(2, 100), cuts: [30, 80_000] });
    expect(got.rows.length).toBe(2);
    expect(got.rejectedRows).toEqual({ [code]: 1 });
    expect(got.rejects[0]).toMatchObject({ position: 2, extent: 'row' });
    expect(got.rejects[0]?.raw.length).toBeLessThanOrEqual(2000);
    expect(got.summary.rowCount).toBe(3);
  });
});

test('remote, 11-bit, error and short frames are accepted and carry nothing', () => {
  const lines = [
    `${at(0)} can0 18FEF600#R\n`,
    ` ${at(0)}  can0  18FEF600   [8]  remote request\n`,
    `${at(0)} can0 123#FF645AFF\n`,
    `${at(0)} can0 20000004#0000000000000000\n`,
    `${at(0)} can0 18FEF600#\n`,
  ];
  const got = decode({ rule: busRule(), bytes: lines.join('') });
  expect(got).toMatchObject({ rows: [], emptyRows: 5, rejectedRows: {}, rejectedValues: {} });
  expect(got.summary.bus).toMatchObject({ frames: 3, remoteFrames: 2, standardFrames: 1 });
});

test('both forms of a line read the same, with and without direction and trailing text', () => {
  const forms = [
    '(1700000000.5) can0 18FEF600#FF325AFFFFFFFFFF',
    ' (1700000000.5)  can0  18FEF600   [8]  FF 32 5A FF FF FF FF FF',
    " (1700000000.5)  can0  RX - -  18FEF600   [8]  FF 32 5A FF FF FF FF FF   '.2Z.....'",
    '(1700000000.5) can0 18FEF600#FF.32.5A.FF.FF.FF.FF.FF R',
  ];
  for (const form of forms) {
    expect(decode({ rule: busRule(), bytes: form }).rows).toEqual([
      { unit: 'truck-1', timeMs: 1_700_000_000_000, values: { boostPressure: 100, intakeManifoldTemperature: 50 } },
    ]);
  }
});

test('codes above 0xFA are no values', () => {
  const bytes = ['FB', 'FC', 'FD', 'FE', 'FF', 'FA']
    .map((code, i) => `${at(i)} can0 18FEF600#FF${code}FFFFFFFFFFFF\n`)
    .join('');
  const got = decode({ rule: busRule(), bytes });
  expect(got.rows.map((row) => row.values)).toEqual([{ boostPressure: 500 }]);
  const item = got.summary.bus?.parameters.find((parameter) => parameter.parameter.spn === 102);
  expect(item).toMatchObject({ frames: 6, reserved: 3, error: 1, notAvailable: 1 });
  expect(item?.statistics.count).toBe(1);
});

test('another sender is counted and never taken for the engine', () => {
  const got = decode({ rule: busRule(), bytes: boost(0, 100) + boost(0, 400, '21') });
  expect(got.rows[0]?.values.boostPressure).toBe(100);
  expect(
    got.summary.bus?.parameters.filter((item) => item.parameter.spn === 102).map((item) => item.sourceAddress),
  ).toEqual([0, 0x21]);
  expect(
    decode({ rule: busRule({ sourceAddress: 0x21 }), bytes: boost(0, 100) + boost(0, 400, '21') }).rows[0]?.values
      .boostPressure,
  ).toBe(400);
});

test('of two interfaces one is read, for each may have an engine at the same address', () => {
  const bytes = boost(0, 100) + boost(0, 400).replace('can0', 'can1');
  expect(decode({ rule: busRule(), bytes }).rows[0]?.values.boostPressure).toBe(100);
  expect(decode({ rule: busRule({ interface: 'can1' }), bytes }).rows[0]?.values.boostPressure).toBe(400);
});

describe('several parameters of one signal', () => {
  // SPN 1636 in PGN 65129, bytes 1-2, 1/32 K a bit from -273: the finer manifold temperature. 0x2860 is 50 degC.
  const fine = (second: number) => `${at(second)} can0 18FE6900#6028FFFFFFFFFFFF\n`;
  const coarse = (second: number) => `${at(second)} can0 18FEF600#FFFF64FFFFFFFFFF\n`;
  test('the coarse one waits while the fine one is alive, and steps in ten seconds after it falls silent', () => {
    const bytes = fine(0) + Array.from({ length: 13 }, (_, i) => coarse(i)).join('');
    const got = decode({ rule: busRule(), bytes }).rows.map((row) => row.values.intakeManifoldTemperature);
    expect(got).toEqual([50, 60, 60]);
  });
  test('a rule that says SPN 1127 is absolute makes it the absolute manifold pressure', () => {
    // SPN 1127 in PGN 65190, bytes 1-2, 1/8 kPa a bit: 0x0640 is 200 kPa.
    const bytes = `${at(0)} can0 18FEA600#4006FFFFFFFFFFFF\n`;
    expect(decode({ rule: busRule(), bytes }).rows[0]?.values).toEqual({ boostPressure: 200 });
    expect(decode({ rule: busRule({ references: { boostPressure: 'absolute' } }), bytes }).rows[0]?.values).toEqual({
      intakeManifoldPressureAbsolute: 200,
    });
  });
});

test('readings of a second become their mean, and a reading lasts no longer than its second', () => {
  const got = decode({
    rule: busRule(),
    bytes: `${boost(0, 100)}${boost(0, 104)}${at(1)} can0 0CF00400#FFFFFF6813FFFFFF\n`,
  });
  expect(got.rows.map((row) => row.values)).toEqual([
    { boostPressure: 102, intakeManifoldTemperature: 50 },
    { engineSpeed: 621 },
  ]);
});

test('a value out of range is refused and the others of its frame stay', () => {
  // Manifold temperature 0xFA is 210 degC, above 200.
  const got = decode({ rule: busRule(), bytes: `${at(0)} can0 18FEF600#FF32FAFFFFFFFFFF\n` });
  expect(got.rows[0]?.values).toEqual({ boostPressure: 100 });
  expect(got.rejectedValues).toEqual({ value_out_of_range: 1 });
});

describe('transport protocol', () => {
  // Two codes, SAE J1939-73: SPN 102 FMI 4 count 1, SPN 105 FMI 3 count 2; amber lamp on. Ten bytes in two packets.
  const codes = ['66000401', '69000302'];
  const announce = `${at(0)} can0 18ECFF00#200A0002FFCAFE00\n`;
  const packets = [`${at(0)} can0 18EBFF00#0104FF${codes[0]}69\n`, `${at(0)} can0 18EBFF00#02000302FFFFFFFF\n`];
  const noise = `${at(0)} can0 18ECFF31#200A0002FFCAFE00\n`;
  test('a broadcast is put together among the packets of others', () => {
    const got = decode({ rule: busRule(), bytes: announce + noise + packets.join('') + boost(0, 100) });
    expect(got.summary.bus?.troubleCodes).toMatchObject([
      {
        sourceAddress: 0,
        transport: 'broadcast',
        amberWarning: 'on',
        codes: [
          { spn: 102, fmi: 4, count: 1 },
          { spn: 105, fmi: 3, count: 2 },
        ],
      },
    ]);
  });
  test('a connection is put together, and a packet asked for again is taken again', () => {
    const open = `${at(0)} can0 18EC2100#100A0002FFCAFE00\n`;
    const to = packets.map((line) => line.replace('18EBFF00', '18EB2100'));
    const again = `${at(0)} can0 18EC0021#110102FFFFCAFE00\n`;
    const got = decode({ rule: busRule(), bytes: open + to[0] + again.replace('0102', '0201') + to.join('') });
    expect(got.summary.bus?.troubleCodes[0]).toMatchObject({
      transport: 'connection',
      codes: [{ spn: 102 }, { spn: 105 }],
    });
    expect(got.summary.bus?.transport).toMatchObject({ requestToSend: 1, clearToSend: 1, outOfSequence: 0 });
  });
  test('a message that is begun anew before it is complete is refused as incomplete', () => {
    const got = decode({ rule: busRule(), bytes: announce + packets[0] + announce + packets.join('') });
    expect(got.rejectedValues).toEqual({ transport_incomplete: 1 });
    expect(got.summary.bus?.troubleCodes[0]?.messages).toBe(1);
  });
  test('a single frame of zeroes says that there are no codes', () => {
    const got = decode({ rule: busRule(), bytes: `${at(0)} can0 18FECA00#00FF00000000FFFF\n` });
    expect(got.summary.bus?.troubleCodes[0]).toMatchObject({ codes: [], transport: 'single_frame' });
  });
});

test('a log that counts from its first frame needs to know when that was', () => {
  const bytes = ' (000.500000)  can0  18FEF600   [8]  FF 32 FF FF FF FF FF FF\n';
  expect(decode({ rule: busRule(), bytes }).summary.problem?.code).toBe('clock_before_fleet');
  expect(decode({ rule: busRule({ startsAt: '2024-05-01T10:00:00+02:00' }), bytes }).rows[0]?.timeMs).toBe(
    Date.UTC(2024, 4, 1, 8),
  );
});
