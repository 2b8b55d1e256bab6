import { describe, expect, test } from 'vitest';
import { fleetFileSchema } from './fleet-file.ts';
import { sourceRuleSchema, unitsOfRule } from './source-rule.ts';

const unit = (id: string) => ({
  id,
  name: id,
  kind: 'vessel',
  duty: 'ferry',
  place: 'quay',
  engine: {
    ratedPowerKw: 800,
    ratedSpeedRpm: 1600,
    displacementL: 32,
    strokes: 4,
    charging: 'single_stage',
    boostControl: 'none',
    cooler: 'seawater',
  },
  sensors: {},
  limits: { source: 'none stated' },
});

/** Paths of what is wrong in a fleet file with this rule. */
function faultsOf(rule: object): string[] {
  const checked = fleetFileSchema.safeParse({
    version: 1,
    fleet: { name: 'Two engines' },
    places: [{ id: 'quay', name: 'Quay', kind: 'port' }],
    units: [unit('port-main'), unit('starboard-main')],
    sources: [{ id: 'bus', files: '*.raw', ...rule }],
  });
  return checked.success ? [] : checked.error.issues.map((issue) => issue.path.slice(2).join('.'));
}

describe('a rule for several engines', () => {
  const n2k = { format: 'n2k_frames', engines: { 0: 'port-main', 1: 'starboard-main' } };
  const deltas = { format: 'signalk_delta', engines: { port: 'port-main', starboard: 'starboard-main' } };

  test('holds with every engine a unit of the fleet', () => {
    expect(faultsOf(n2k)).toEqual([]);
    expect(faultsOf({ ...n2k, format: 'n2k_candump', startsAt: '2024-05-01T10:00:00Z' })).toEqual([]);
    expect(faultsOf(deltas)).toEqual([]);
  });

  test('is refused where an engine is no unit, two are one unit, or none is named', () => {
    expect(faultsOf({ ...n2k, engines: { 0: 'bow-main' } })).toEqual(['engines.0']);
    expect(faultsOf({ ...deltas, engines: { port: 'port-main', main: 'port-main' } })).toEqual(['engines']);
    expect(faultsOf({ ...n2k, engines: {} })).toEqual(['engines']);
  });

  test('is refused where an instance, an id, a signal or the unit of a sensor is none', () => {
    expect(faultsOf({ ...n2k, engines: { 253: 'port-main' } })).toEqual(['engines.253']);
    expect(faultsOf({ ...n2k, engines: { port: 'port-main' } })).toEqual(['engines.port']);
    expect(faultsOf({ ...deltas, engines: { 'port.x': 'port-main' } })).toEqual(['engines.port.x']);
    expect(faultsOf({ ...n2k, sensors: [{ signal: 'seaTemperature' }] })).toEqual(['sensors.0.signal']);
    const sensors = [{ signal: 'exhaustTemperature', unit: 'bow-main', instance: 3 }];
    expect(faultsOf({ ...n2k, sensors })).toEqual(['sensors.0.unit']);
    expect(faultsOf({ ...n2k, sensors: [{ ...sensors[0], unit: 'port-main' }] })).toEqual([]);
  });

  test('names its units, each once', () => {
    const rule = (more: object) => sourceRuleSchema.parse({ id: 'bus', files: '*', ...more });
    expect(unitsOfRule(rule(n2k))).toEqual(['port-main', 'starboard-main']);
    expect(unitsOfRule(rule({ format: 'j1939_candump', unit: 'port-main' }))).toEqual(['port-main']);
    const table = { format: 'csv_wide', unitColumn: 'unit', time: { column: 'time' }, columns: {} };
    expect(unitsOfRule(rule(table))).toEqual([]);
  });
});
