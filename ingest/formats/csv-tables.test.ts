import { describe, expect, test } from 'vitest';
import { decode, wideRule } from './decode-for-tests.ts';

const T = '2024-05-01T08:00:0';

describe('wide tables', () => {
  // 1 bar = 100 kPa, 1 psi = 6.894757 kPa, degC = (degF - 32) / 1.8: NIST SP 811 (2008), appendix B.8.
  test('units of the file become canonical ones', () => {
    const columns = {
      boostPressure: { column: 'boost', unit: 'psi' },
      coolantTemperature: { column: 'coolant', unit: '°F' },
      oilPressure: { column: 'oil', unit: 'bar(g)' },
      intakeAirMassFlow: { column: 'air', unit: 'g/s' },
    };
    const got = decode({ rule: wideRule({ columns }), bytes: `time,boost,coolant,oil,air\n${T}0Z,22,194,4.5,100\n` });
    expect(got.rows[0]?.values).toEqual({
      boostPressure: expect.closeTo(151.684654, 4),
      coolantTemperature: expect.closeTo(90, 9),
      oilPressure: 450,
      intakeAirMassFlow: expect.closeTo(360, 9),
    });
  });
  test('boost stated as absolute is the absolute manifold pressure, by rule or by unit', () => {
    for (const column of [
      { column: 'boost', unit: 'bar', reference: 'absolute' as const },
      { column: 'boost', unit: 'bara' },
    ]) {
      const got = decode({ rule: wideRule({ columns: { boostPressure: column } }), bytes: `time,boost\n${T}0Z,2.5\n` });
      expect(got.rows[0]?.values).toEqual({ intakeManifoldPressureAbsolute: 250 });
    }
  });
  test('decimal commas, semicolons, tabs and lines above the header are read', () => {
    const semicolons = decode({
      rule: wideRule({ delimiter: ';', decimal: ',', skipLines: 2 }),
      bytes: `Logger 7\n"Export; of today\ntime;rpm;boost\n${T}0Z;1200,5;-0,25\n${T}1Z;"1200,25";1.5\n`,
    });
    expect(semicolons.rows.map((row) => row.values)).toEqual([
      { engineSpeed: 1200.5, boostPressure: -25 },
      { engineSpeed: 1200.25 },
    ]);
    expect(semicolons.rejectedValues).toEqual({ number_unreadable: 1 });
    const tabs = decode({ rule: wideRule({ delimiter: '\t' }), bytes: `time\trpm\tboost\n${T}0Z\t1200\t1\n` });
    expect(tabs.rows[0]?.values).toEqual({ engineSpeed: 1200, boostPressure: 100 });
  });
  test('a comma may be delimiter and, in quotes, decimal sign', () => {
    const got = decode({ rule: wideRule({ decimal: ',' }), bytes: `time,rpm,boost\n${T}0Z,"1200,5",1\n` });
    expect(got.rows[0]?.values).toEqual({ engineSpeed: 1200.5, boostPressure: 100 });
  });
  test('texts and numbers that mean "not available" are no values and no refusals', () => {
    const rule = wideRule({ notAvailable: ['n/a', '-', '-9999', '0'] });
    const got = decode({ rule, bytes: `time,rpm,boost\n${T}0Z,n/a,-9999\n${T}1Z,0,\n${T}2Z,0.0,"-"\n${T}3Z, ,1\n` });
    expect(got.rows.map((row) => row.values)).toEqual([{}, {}, { engineSpeed: 0 }, { boostPressure: 100 }]);
    expect(got.rejectedValues).toEqual({});
  });
  test('columns that no rule names may hold anything, line ends in quotes too', () => {
    const got = decode({
      rule: wideRule(),
      bytes: `note,time,rpm,boost,"other ""name"""\n"a,\nb ""c""",${T}0Z,1200,1,x"y\nplain,${T}1Z,1201,1,\n`,
    });
    expect(got.rows.map((row) => row.values.engineSpeed)).toEqual([1200, 1201]);
    expect(got.rejectedRows).toEqual({});
  });
});

test('a field of sixty thousand digits is answered at once', () => {
  const got = decode({ rule: wideRule(), bytes: `time,rpm,boost\n${T}0Z,${'1'.repeat(60_000)}x,1\n` });
  expect(got.rejectedValues).toEqual({ number_unreadable: 1 });
});

describe('long tables', () => {
  const rule = wideRule({
    format: 'csv_long',
    channelColumn: 'channel',
    valueColumn: 'value',
    notAvailable: ['--'],
    columns: { engineSpeed: { column: 'RPM' }, boostPressure: { column: 'MAP', unit: 'bar' } },
  });
  const head = 'time,channel,value\n';
  test('readings of a second become one sample, each signal the mean of its readings', () => {
    const got = decode({
      rule,
      bytes: `${head}${T}0.1Z,RPM,1000\n${T}0.9Z,RPM,1200\n${T}0.5Z,MAP,1.5\n${T}1.2Z,MAP,1.6\n`,
    });
    expect(got.rows).toEqual([
      { unit: 'truck-1', timeMs: Date.UTC(2024, 4, 1, 8), values: { engineSpeed: 1100, boostPressure: 150 } },
      { unit: 'truck-1', timeMs: Date.UTC(2024, 4, 1, 8, 0, 1), values: { boostPressure: 160 } },
    ]);
  });
  test('a file sorted by channel gives the same samples as one sorted by time', () => {
    const time = (second: number) => new Date(Date.UTC(2024, 4, 1) + second * 1000).toISOString();
    const readings = Array.from({ length: 40_000 }, (_, i) => ({
      second: i >> 1,
      line: `${time(i >> 1)},${i % 2 === 0 ? 'RPM,1200' : 'MAP,1.5'}\n`,
    }));
    const byTime = decode({ rule, bytes: head + readings.map((item) => item.line).join('') });
    const byChannel = decode({
      rule,
      bytes:
        head +
        [0, 1]
          .flatMap((odd) => readings.filter((_, i) => i % 2 === odd))
          .map((item) => item.line)
          .join(''),
    });
    expect(byTime.rows.length).toBe(20_000);
    expect(byChannel.rows).toEqual(byTime.rows);
  });
  test('unmapped channels, repeated rows, missing and bad values are each counted', () => {
    const lines = [
      '0Z,RPM,1000',
      '0Z,RPM,1000',
      '0Z,RPM,1100',
      '0Z,Volt,24',
      '1Z,Volt,x',
      '2Z,RPM,--',
      '3Z,RPM,bad',
      '3Z,RPM,70000',
    ];
    const got = decode({ rule, bytes: head + lines.map((line) => `${T}${line}\n`).join('') });
    expect(got.rows.map((row) => row.values)).toEqual([{ engineSpeed: 1050 }]);
    expect(got).toMatchObject({
      repeatedRows: 1,
      emptyRows: 2,
      sampleRows: 3,
      rejectedRows: { number_unreadable: 1, value_out_of_range: 1 },
    });
    expect(got.summary.unmapped).toEqual(new Map([['Volt', 2]]));
    expect(got.summary.rowCount).toBe(8);
  });
  test('endless channel names do not fill the memory', () => {
    const got = decode({ rule, bytes: head + Array.from({ length: 5000 }, (_, i) => `${T}0Z,c${i},1\n`).join('') });
    expect(got.summary.unmapped?.size).toBeLessThanOrEqual(2001);
    expect([...(got.summary.unmapped ?? new Map<string, number>()).values()].reduce((a, b) => a + b, 0)).toBe(5000);
  });
});
