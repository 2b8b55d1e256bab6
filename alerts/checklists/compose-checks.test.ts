import { describe, expect, test } from 'vitest';
import { CHECK_STAGES } from '../../schemas/task.ts';
import { FAILURE_MECHANISMS, FAILURE_MODES } from '../book/failure-codes.ts';
import { EXAMPLE_FLEET, exampleUnit } from '../example-for-tests.ts';
import { CAUSES } from './cause-table.ts';
import { causeFacts, isCause, sensorProof } from './causes.ts';
import { generalCautions } from './cautions.ts';
import { composeChecks, leadingCauses } from './compose-checks.ts';
import type { Step } from './step.ts';
import { STEPS } from './steps.ts';

const truck = exampleUnit('truck-07');
const tug = exampleUnit('tug-port-engine');
const certain = (cause: string) => [{ cause, probability: 1 }];
const idsFor = (cause: string, unit = truck, subject = 'boost') =>
  composeChecks({ causes: certain(cause), unit, subject }).map(({ id }) => id);

describe('leading causes', () => {
  test('are those that together hold most of the probability', () => {
    const causes = [0.05, 0.5, 0.35, 0.1].map((probability, index) => ({ cause: `c${index}`, probability }));
    expect(leadingCauses(causes).map(({ cause }) => cause)).toEqual(['c1', 'c2']);
  });
  test('are one when one is far ahead, and at most four', () => {
    expect(leadingCauses(certain('boost_leak_after_cooler'))).toHaveLength(1);
    expect(leadingCauses(Array.from({ length: 20 }, (_, n) => ({ cause: `c${n}`, probability: 0.05 })))).toHaveLength(
      4,
    );
  });
});

describe('order', () => {
  // "Read codes and log, check the sensor, look and listen, measure, open": common practice; manuals warn that an
  // undamaged turbocharger is often the part removed (TM 5-3805-280-24-2, TM 9-2815-260-24).
  test.each(Object.keys(CAUSES))('%s: least dismantling first, nothing twice, on every unit', (cause) => {
    for (const unit of EXAMPLE_FLEET.units) {
      const checks = composeChecks({ causes: certain(cause), unit, subject: 'boost' });
      const stages = checks.map(({ stage }) => CHECK_STAGES.indexOf(stage));
      expect(stages).toEqual([...stages].sort((a, b) => a - b));
      expect(new Set(checks.map(({ id }) => id)).size).toBe(checks.length);
      expect(checks[0]?.stage).toBe('codes_and_log');
    }
  });
  test('a stage starts with the steps that tell the leading causes apart', () => {
    const causes = [
      { cause: 'boost_leak_after_cooler', probability: 0.45 },
      { cause: 'compressor_fouled', probability: 0.4 },
    ];
    const measured = composeChecks({ causes, unit: truck, subject: 'boost' }).filter(
      ({ stage }) => stage === 'measure',
    );
    const separating = measured.map((check) => check.separating);
    expect(separating).toEqual([...separating].sort((a, b) => Number(b) - Number(a)));
    expect(measured.filter((check) => check.separating).map(({ id }) => id)).toEqual([
      'boost_hold',
      'compressor_efficiency',
    ]);
  });
});

describe('fitting to the unit', () => {
  test('a limit of the fleet file decides and is named with its source', () => {
    const drop = composeChecks({ causes: certain('intake_restriction'), unit: truck, subject: 'boost' }).find(
      ({ id }) => id === 'filter_drop',
    );
    expect(drop?.accept).toBe('Limit of this unit: at most 6.2 kPa (engine manual, section 4).');
  });
  test('without a limit, common practice is said to be none', () => {
    const unit = exampleUnit('truck-08');
    const drop = composeChecks({ causes: certain('intake_restriction'), unit, subject: 'boost' }).find(
      ({ id }) => id === 'filter_drop',
    );
    expect(drop?.accept).toContain('not entered in the fleet file; common practice, not a limit');
  });
  test('an air-to-air cooler is looked through, a seawater cooler has its valves shut', () => {
    expect(idsFor('cac_coolant_side_fouled', truck)).toContain('cooler_face');
    expect(idsFor('cac_coolant_side_fouled', truck)).not.toContain('water_side_clean');
    const marine = composeChecks({ causes: certain('cac_coolant_side_fouled'), unit: tug, subject: 'coolerApproach' });
    expect(marine.find(({ id }) => id === 'water_side_clean')?.cautions.join(' ')).toContain('seawater valves');
    expect(marine.map(({ id }) => id)).not.toContain('cooler_face');
  });
  test('what departs has its own sensor proved, whatever the cause', () => {
    expect(idsFor('bearing_wear_or_rub', truck, 'oilPressure')).toContain('sensor_oil_gauge');
  });
});

describe('discriminating observations', () => {
  // From the fault-symptom matrix of this field: what tells the cause from its look-alikes. Back-pressure tapping:
  // TM 5-3895-346-14; touch test: TM 9-2815-260-24; the others common practice, no source.
  test.each([
    ['boost_leak_after_cooler', 'boost_hold'],
    ['intake_restriction', 'filter_drop'],
    ['cac_air_side_fouled', 'cooler_drop'],
    ['cac_internal_leak', 'turn_cocks_open'],
    ['cac_air_side_flooded', 'drain_receiver'],
    ['exhaust_back_pressure_high', 'back_pressure'],
    ['exhaust_leak_before_turbine', 'soot_look'],
    ['bearing_wear_or_rub', 'shaft_spin'],
    ['oil_supply_low', 'oil_pressure_turbo'],
    ['pressure_reference_mixup', 'sensor_boost_standstill'],
    ['engine_derate', 'check_derate'],
  ])('%s is checked by %s', (cause, step) => {
    expect(idsFor(cause, tug)).toContain(step);
  });
});

describe('safety', () => {
  test('whatever opens something is done stopped', () => {
    for (const [id, step] of Object.entries<Step>(STEPS)) {
      if (step.stage === 'open') expect(step.cautions, id).toContain('stopped');
    }
  });
  test('road chocks wheels, a vessel shuts seawater valves and blocks remote start', () => {
    expect(generalCautions(truck).join(' ')).toContain('wheels chocked');
    const afloat = generalCautions(tug).join(' ');
    expect(afloat).toContain('Seawater side: close and tag both valves');
    expect(afloat).toContain('remote');
    expect(afloat).not.toContain('wheels');
    expect(afloat).toContain('Two-stroke');
  });
  test('every list says that an engine can run away on its own oil and defers to the maker', () => {
    for (const unit of EXAMPLE_FLEET.units) {
      const text = generalCautions(unit).join(' ');
      expect(text).toContain('run away on its own oil');
      expect(text).toContain('manual and limits, local codes and licensed practice come before');
    }
  });
});

test('usual codes of every cause are in the tables of failure modes and mechanisms', () => {
  for (const [id, { usualMode, usualMechanism }] of Object.entries(CAUSES)) {
    if (usualMode !== undefined) expect(FAILURE_MODES, id).toHaveProperty(usualMode);
    if (usualMechanism !== undefined) expect(Object.keys(FAILURE_MECHANISMS), id).toContain(usualMechanism);
  }
});

test('every step is used by a cause', () => {
  const used = new Set(Object.values(CAUSES).flatMap(({ steps }) => steps));
  const sensors = ['sensor_wiring', 'tapping_line', 'sensor_swap'];
  expect(Object.keys(STEPS).filter((id) => !used.has(id as keyof typeof STEPS) && !sensors.includes(id))).toEqual([]);
});

test.each([
  ['boost', 'sensor_boost_standstill'],
  ['intakeManifoldPressureAbsolute', 'sensor_boost_standstill'],
  ['intakeManifoldTemperature', 'sensor_temperature_standstill'],
  ['coolerEffectiveness', 'sensor_temperature_standstill'],
  ['turbineOutletTemperature', 'sensor_exhaust_standstill'],
  ['turbochargerOilPressure', 'sensor_oil_gauge'],
  ['turbochargerSpeed', undefined],
])('the sensors behind %s are proved by %s', (subject, step) => {
  expect(sensorProof(subject)).toBe(step);
});

test('a sensor outside the table is named by its signal, a cause unheard of still gets steps', () => {
  expect(causeFacts('sensor_coolantTemperature').term).toBe('sensor fault: coolant temperature');
  expect(isCause('sensor_coolantTemperature')).toBe(true);
  expect(isCause('constructor')).toBe(false);
  expect(idsFor('a_cause_added_later')).toContain('read_codes');
});
