import { describe, expect, test } from 'vitest';
import { EXAMPLE_FLEET } from './example-fleet.ts';
import { type FleetFault, readFleetText } from './read-fleet-file.ts';

/** The text of the example with one line changed; the line is found by its text, so numbers below are not copied. */
function changed(from: string, to: string): { text: string; line: number } {
  const index = EXAMPLE_FLEET.indexOf(from);
  expect(index, `the example holds "${from}"`).toBeGreaterThanOrEqual(0);
  const text = EXAMPLE_FLEET.slice(0, index) + to + EXAMPLE_FLEET.slice(index + from.length);
  return { text, line: EXAMPLE_FLEET.slice(0, index).split('\n').length };
}

function faultsOf(text: string): readonly FleetFault[] {
  const checked = readFleetText({ text, file: 'fleet.yaml' });
  return checked.ok ? [] : checked.faults;
}

describe('readFleetText names the line and the mend of', () => {
  // Line numbers follow from the text itself: the line that was changed, or a number of lines from it.
  const bad: { name: string; from: string; to: string; lineAfter?: number; field: string; says: string }[] = [
    {
      name: 'a misspelt field',
      from: 'ratedPowerKw: 340',
      to: 'ratedPowerKW: 340',
      field: 'units[0].engine.ratedPowerKW',
      says: 'did you mean ratedPowerKw?',
    },
    {
      name: 'a field that nothing resembles',
      from: 'strokes: 4',
      to: 'strokes: 4\n      xyzzy: 1',
      lineAfter: 1,
      field: 'units[0].engine.xyzzy',
      says: 'the fields are ratedPowerKw, ratedSpeedRpm',
    },
    {
      name: 'a word that is not known',
      from: 'kind: road ',
      to: 'kind: raod ',
      field: 'units[0].kind',
      says: 'use one of road, mobile_plant, vessel, generator (did you mean road?)',
    },
    {
      name: 'a cooler that is not known',
      from: 'cooler: seawater',
      to: 'cooler: river',
      field: 'units[1].engine.cooler',
      says: 'air_to_air, engine_jacket_water, separate_circuit, seawater',
    },
    {
      name: 'a number with its unit',
      from: 'ratedPowerKw: 340',
      to: 'ratedPowerKw: 340 kW',
      field: 'units[0].engine.ratedPowerKw',
      says: 'is "340 kW"; write a number, without quotes and without its unit',
    },
    {
      name: 'a quoted number',
      from: 'displacementL: 12.8',
      to: 'displacementL: "12.8"',
      field: 'units[0].engine.displacementL',
      says: 'without quotes',
    },
    {
      name: 'a decimal comma',
      from: 'displacementL: 12.8',
      to: 'displacementL: 12,8',
      field: 'units[0].engine.displacementL',
      says: 'is "12,8"',
    },
    {
      name: 'an empty value',
      from: 'displacementL: 12.8',
      to: 'displacementL:',
      field: 'units[0].engine.displacementL',
      says: 'is empty; write a number',
    },
    {
      name: 'a negative power',
      from: 'ratedPowerKw: 340',
      to: 'ratedPowerKw: -340',
      field: 'units[0].engine.ratedPowerKw',
      says: 'more than 0',
    },
    {
      name: 'three strokes',
      from: 'strokes: 4',
      to: 'strokes: 3',
      field: 'units[0].engine.strokes',
      says: 'use one of 4, 2',
    },
    {
      name: 'a missing field, at the name of its group',
      from: '      displacementL: 12.8\n',
      to: '',
      lineAfter: -4,
      field: 'units[0].engine.displacementL',
      says: 'is missing; add it',
    },
    {
      name: 'a unit without limits, at the beginning of the unit',
      from: '    limits:\n      source: Engine manual, table 12\n      chargeAirTemperatureMaxC: 60\n',
      to: '',
      lineAfter: -15,
      field: 'units[1].limits',
      says: 'is missing',
    },
    {
      name: 'an id with capitals',
      from: 'id: truck-07',
      to: 'id: Truck 07',
      field: 'units[0].id',
      says: 'small letters, digits and hyphens',
    },
    {
      name: 'an id used twice',
      from: 'id: ferry-port-main',
      to: 'id: truck-07',
      field: 'units[1].id',
      says: '"truck-07" is used twice',
    },
    {
      name: 'a place that is not there',
      from: 'place: harbour',
      to: 'place: harbor',
      field: 'units[1].place',
      says: 'north-depot, harbour',
    },
    {
      name: 'a boost sensor without reference',
      from: '{ reference: absolute }',
      to: '{ standardUncertainty: 2 }',
      field: 'units[0].sensors.boostPressure.reference',
      says: 'gauge or absolute',
    },
    {
      name: 'a signal that is not known',
      from: 'oilPressure: { reference: gauge,',
      to: 'oilPresure: { reference: gauge,',
      field: 'units[0].sensors.oilPresure',
      says: 'did you mean oilPressure?',
    },
    {
      name: 'a two-stroke marked as four-stroke',
      from: 'charging: single_stage\n      boostControl: none',
      to: 'charging: blower_scavenged\n      boostControl: none',
      lineAfter: -1,
      field: 'units[1].engine.strokes',
      says: 'write 2',
    },
    {
      name: 'a format that is not known',
      from: 'format: csv_long',
      to: 'format: csv',
      field: 'sources[1].format',
      says: 'use one of csv_wide, csv_long, j1939_candump',
    },
    {
      name: 'a source for a unit that is not there',
      from: 'unit: ferry-port-main',
      to: 'unit: ferry',
      field: 'sources[1].unit',
      says: 'not among the units',
    },
    {
      name: 'a long table without its value column',
      from: '    valueColumn: value\n',
      to: '',
      lineAfter: -6,
      field: 'sources[1]',
      says: 'needs channelColumn and valueColumn',
    },
    {
      name: 'a column of a misspelt signal',
      from: 'fuelRate: {',
      to: 'fuelrat: {',
      field: 'sources[1].columns.fuelrat',
      says: 'did you mean fuelRate?',
    },
    {
      name: 'a source address beyond a byte',
      from: 'sourceAddress: 0',
      to: 'sourceAddress: 300',
      field: 'sources[2].sourceAddress',
      says: 'at most 253',
    },
    {
      name: 'half a source address',
      from: 'sourceAddress: 0',
      to: 'sourceAddress: 0.5',
      field: 'sources[2].sourceAddress',
      says: 'a whole number',
    },
    {
      name: 'a beginning without its offset',
      from: 'sourceAddress: 0',
      to: 'startsAt: 2026-03-01 06:00',
      field: 'sources[2].startsAt',
      says: 'with its offset from UTC',
    },
    {
      name: 'a zone that does not exist',
      from: 'timeZone: Europe/Athens\n  # How',
      to: 'timeZone: Europe/Atlantis\n  # How',
      field: 'fleet.timeZone',
      says: 'IANA name',
    },
    {
      name: 'a log in a zone that does not exist',
      from: 'timeZone: Europe/Athens\n    columns',
      to: 'timeZone: Athens\n    columns',
      field: 'sources[0].time.timeZone',
      says: 'IANA name',
    },
    { name: 'a version from the future', from: 'version: 1', to: 'version: 2', field: 'version', says: 'write 1' },
    {
      name: 'no places',
      from: 'places:\n  - id: north-depot\n    name: North depot\n    kind: depot\n  - id: harbour\n    name: Harbour, quay 3\n    kind: port',
      to: 'places: []',
      field: 'places',
      says: 'needs at least 1',
    },
    {
      name: 'a group where a list belongs',
      from: 'places:\n  - id: north-depot\n    name: North depot\n    kind: depot\n  - id: harbour\n    name: Harbour, quay 3\n    kind: port',
      to: 'places:\n  id: north-depot',
      field: 'places',
      says: 'is a group of fields; write a list',
    },
    { name: 'an empty name', from: 'name: Truck 07', to: 'name: ""', field: 'units[0].name', says: 'is empty' },
    {
      name: 'a prior of zero',
      from: '    # priors: { cooler_fouled_water_side: 3 }',
      to: '    priors: { cooler_fouled_water_side: 0 }',
      field: 'units[1].priors.cooler_fouled_water_side',
      says: 'more than 0',
    },
  ];
  test.each(bad)('$name', ({ from, to, lineAfter = 0, field, says }) => {
    const { text, line } = changed(from, to);
    const faults = faultsOf(text);
    expect(faults.map((fault) => [fault.line, fault.field])).toContainEqual([line + lineAfter, field]);
    expect(faults.find((fault) => fault.field === field)?.detail).toContain(says);
  });
});
