// Paths and units: Signal K schema 1.8.2. Real deltas: test/data/signalk-*.
import { describe, expect, test } from 'vitest';
import type { SignalKRule } from '../../schemas/source-rule.ts';
import { decode } from './decode-for-tests.ts';

function rule(changes: Partial<SignalKRule> = {}): SignalKRule {
  return {
    id: 'deltas',
    files: '*.jsonl',
    format: 'signalk_delta',
    engines: { port: 'port', starboard: 'starboard' },
    senders: {},
    leaveOut: [],
    ...changes,
  };
}

type Values = Record<string, unknown>;
const TIME = '2024-05-01T10:00:00.000Z';

function delta(
  values: Values,
  more: { timestamp?: string | undefined; $source?: string; context?: string } = {},
): string {
  const { context, timestamp = TIME, ...update } = more;
  const listed = Object.entries(values).map(([path, value]) => ({ path, value }));
  const timed = 'timestamp' in more && more.timestamp === undefined ? {} : { timestamp };
  return JSON.stringify({
    ...(context === undefined ? {} : { context }),
    updates: [{ ...timed, ...update, values: listed }],
  });
}

const read = (lines: string[], changes: Partial<SignalKRule> = {}) =>
  decode({ rule: rule(changes), bytes: lines.join('\n') });

describe('paths', () => {
  test('are turned from SI units into ours, each engine for itself', () => {
    const decoded = read([
      delta({
        'propulsion.port.revolutions': 20,
        'propulsion.port.boostPressure': 120_000,
        'propulsion.port.engineLoad': 0.5,
        'propulsion.port.engineTorque': -0.25,
        'propulsion.port.intakeManifoldTemperature': 323.15,
        'propulsion.port.exhaustTemperature': 673.15,
        'propulsion.port.fuel.rate': 1e-5,
        'propulsion.port.runTime': 7200,
        'propulsion.port.transmission.oilTemperature': 343.15,
        'propulsion.starboard.revolutions': 10,
        'environment.outside.pressure': 101_325,
        'environment.inside.engineRoom.temperature': 313.15,
      }),
    ]);
    const around = { barometricPressure: 101.325, engineRoomTemperature: expect.closeTo(40, 9) };
    expect(decoded.rows.map(({ unit, values }) => [unit, values])).toEqual([
      [
        'port',
        {
          engineSpeed: 1200,
          boostPressure: 120,
          engineLoad: 50,
          actualTorque: -25,
          intakeManifoldTemperature: expect.closeTo(50, 9),
          exhaustTemperature: expect.closeTo(400, 9),
          fuelRate: expect.closeTo(36, 9),
          engineHours: 2,
          transmissionOilTemperature: expect.closeTo(70, 9),
          ...around,
        },
      ],
      ['starboard', { engineSpeed: 600, ...around }],
    ]);
    expect(decoded.sampleRows).toBe(1);
  });

  test('of engines that the rule does not name are counted and not read', () => {
    const decoded = read([delta({ 'propulsion.wing.revolutions': 20 }), delta({ 'propulsion.wing.runTime': 20 })]);
    expect(decoded.rows).toEqual([]);
    expect(decoded.emptyRows).toBe(2);
    expect(decoded.summary.signalK?.enginesLeftOut).toEqual(new Map([['wing', 2]]));
  });

  test('with names of the language itself are paths like any other', () => {
    const decoded = read([
      delta({ 'propulsion.__proto__.revolutions': 20, constructor: 1, 'propulsion.constructor.oilPressure': 1 }),
    ]);
    expect(decoded.rejects).toEqual([]);
    expect(decoded.emptyRows).toBe(1);
  });
});

describe('values', () => {
  test('that are codes of a bus field are left out, refused once and counted', () => {
    // "Not available" of a signed two-byte temperature, as a real converter passed it on; in single precision as well.
    const lines = [327.67, 327.670013, 655.35, 350].map((value) =>
      delta({ 'propulsion.port.coolantTemperature': value }),
    );
    const decoded = read(lines);
    expect(decoded.rejectedValues).toEqual({ value_out_of_range: 1 });
    expect(decoded.rows[0]?.values.coolantTemperature).toBeCloseTo(76.85, 9);
    expect(decoded.summary.signalK?.quantities[0]).toMatchObject({ messages: 4, wrongFill: 3 });
    const percent = read([delta({ 'propulsion.port.engineTorque': -0.01, 'propulsion.port.engineLoad': 1.27 })]);
    expect(percent.rejectedValues).toEqual({ value_out_of_range: 2 });
    expect(percent.rows).toEqual([]);
  });

  test('beyond a number, and out of the range of a signal, are refused while the others stand', () => {
    const text = delta({ 'propulsion.port.revolutions': 20, 'propulsion.port.oilPressure': 7 }).replace(
      ':7}',
      ':1e999}',
    );
    const decoded = read([text, delta({ 'propulsion.port.revolutions': 1e6 })]);
    expect(decoded.rejectedValues).toEqual({ number_unreadable: 1, value_out_of_range: 1 });
    expect(decoded.rows.map((row) => row.values)).toEqual([{ engineSpeed: 1200 }]);
  });

  test('that share a time are all in the mean, equal ones too', () => {
    const speeds = [20, 20, 20, 24];
    const decoded = read(
      speeds.map((value) => delta({ 'propulsion.port.revolutions': value }, { timestamp: '2024-05-01T10:00:00Z' })),
    );
    expect(decoded.rows.map((row) => row.values)).toEqual([{ engineSpeed: 1260 }]);
    expect(decoded.repeatedRows).toBe(0);
    expect(decoded.summary.signalK?.quantities[0]).toMatchObject({ messages: 4, times: 1 });
  });

  test('that are texts, objects or null are passed over, and so is meta', () => {
    const meta = `{"updates":[{"timestamp":"${TIME}","meta":[{"path":"a","value":{"units":"Hz"}}]}]}`;
    const decoded = read([delta({ 'propulsion.port.state': 'started', 'propulsion.port.revolutions': null }), meta]);
    expect(decoded.rejects).toEqual([]);
    expect(decoded.emptyRows).toBe(2);
  });
});

describe('updates without a time', () => {
  test('are refused where they carry a signal, and pass where they carry none', () => {
    const decoded = read([
      delta({ 'propulsion.port.revolutions': 20 }, { timestamp: undefined }),
      delta({ 'electrical.batteries.0.voltage': 12 }, { timestamp: undefined }),
    ]);
    expect(decoded.rejectedRows).toEqual({ field_missing: 1 });
    expect(decoded.emptyRows).toBe(1);
    expect(decoded.summary.signalK?.updatesWithoutTime).toBe(2);
  });

  test('are a refused value of a delta whose other updates stand', () => {
    const value = [{ path: 'propulsion.port.revolutions', value: 20 }];
    const decoded = read([JSON.stringify({ updates: [{ timestamp: TIME, values: value }, { values: value }] })]);
    expect(decoded.rejectedRows).toEqual({});
    expect(decoded.rejectedValues).toEqual({ field_missing: 1 });
    expect(decoded.sampleRows).toBe(1);
  });
});

describe('contexts', () => {
  const own = 'vessels.urn:mrn:imo:mmsi:123456789';
  const speed = (value: number, context?: string) =>
    delta({ 'propulsion.port.revolutions': value }, context === undefined ? {} : { context });

  test('of other vessels are not read: the first with an engine of the rule is, and none stated is the own vessel', () => {
    const decoded = read([
      delta({ 'environment.outside.pressure': 90_000 }, { context: 'vessels.other' }),
      speed(20, own),
      speed(30, 'vessels.other'),
    ]);
    expect(decoded.rows.map((row) => row.values)).toEqual([{ engineSpeed: 1200 }]);
    expect(decoded.summary.signalK?.readContext).toBe(own);
    expect(read([speed(20), speed(22, 'vessels.self')]).rows[0]?.values).toEqual({ engineSpeed: 1260 });
  });

  test('the rule may name the one, and the hello of a stream says which is the own', () => {
    expect(read([speed(20, own), speed(30)], { context: 'vessels.self' }).rows[0]?.values.engineSpeed).toBe(1800);
    const hello = JSON.stringify({ name: 'server', version: '1.7.0', self: own, roles: ['main'] });
    const decoded = read([hello, speed(20, own), speed(22)], { context: 'vessels.self' });
    expect(decoded.rows[0]?.values.engineSpeed).toBe(1260);
    expect(decoded.emptyRows + decoded.sampleRows).toBe(3);
  });
});

describe('several senders of one quantity', () => {
  const coolant = ($source: string, value: number, second = '00') =>
    delta({ 'propulsion.port.coolantTemperature': value }, { $source, timestamp: `2024-05-01T10:00:${second}Z` });

  test('the first to come is read, and never a mean of two', () => {
    const decoded = read([coolant('a.1', 353.15), coolant('b.2', 343.15), coolant('a.1', 353.15)]);
    expect(decoded.rows[0]?.values.coolantTemperature).toBeCloseTo(80, 9);
    expect(decoded.summary.signalK?.quantities.length).toBe(2);
  });

  test('the rule names those that are read, best first', () => {
    const lines = [
      coolant('a.1', 353.15),
      coolant('b.2', 343.15),
      coolant('c.3', 333.15),
      coolant('b.2', 343.15, '01'),
    ];
    const decoded = read(lines, { senders: { coolantTemperature: ['b.2'] } });
    expect(decoded.rows.map((row) => row.values.coolantTemperature)).toEqual(
      [70, 70].map((value) => expect.closeTo(value, 9)),
    );
  });
});

describe('lines', () => {
  test.each([
    ['record_unreadable', '{"updates":['],
    ['record_unreadable', 'not json'],
    ['record_unreadable', '[]'],
    ['record_unreadable', '{"updates":{}}'],
    ['record_unreadable', '{"version":"1","updates":3}'],
    ['record_unreadable', `{"updates":[{"values":[{"path":7,"value":1}]}]}`],
    ['time_unreadable', delta({ a: 1 }, { timestamp: '2024-05-01T10:00:00' })],
    ['clock_ahead', delta({ a: 1 }, { timestamp: '9999-05-01T10:00:00Z' })],
    ['clock_before_fleet', delta({ a: 1 }, { timestamp: '0000-01-01T10:00:00Z' })],
  ])('%s refuses %s', (code, text) => {
    expect(read([text]).rejectedRows).toEqual({ [code]: 1 });
  });

  test('of deep nesting are read or refused like any other', () => {
    const deep = `${'['.repeat(30_000)}${']'.repeat(30_000)}`;
    const decoded = read([deep, `{"updates":[{"timestamp":"${TIME}","values":[{"path":"a","value":${deep}}]}]}`]);
    expect(decoded.rejectedRows).toEqual({ record_unreadable: 1 });
    expect(decoded.emptyRows).toBe(1);
  });
});
