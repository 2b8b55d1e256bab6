import { type CauseFacts, cause } from './cause-facts.ts';
import type { StepId } from './steps.ts';

/** Steps that any doubted sensor gets; those that prove its kind come with them. */
export const SENSOR_STEPS: readonly StepId[] = [
  'read_codes',
  'read_log',
  'sensor_wiring',
  'tapping_line',
  'sensor_swap',
];

/** Causes that lie in a sensor, its line or its set-up, by the ids of the fault-symptom matrix and of the plausibility checks. */
export const SENSOR_CAUSES: Readonly<Record<string, CauseFacts>> = {
  sensor_boost_drift: cause(
    'boost sensor drifts or is stuck',
    ['AIR', '3.3'],
    [...SENSOR_STEPS, 'sensor_boost_standstill', 'sensor_boost_gauge'],
  ),
  sensor_im_minus_sink_drift: cause(
    'charge-air temperature sensor drifts or is stuck',
    ['AIR', '3.3'],
    [...SENSOR_STEPS, 'sensor_temperature_standstill'],
  ),
  sensor_egt_pre_turbine_drift: cause(
    'exhaust temperature sensor drifts or is stuck',
    ['AIR', '3.3'],
    [...SENSOR_STEPS, 'sensor_exhaust_standstill'],
  ),
  sensor_oil_pressure_drift: cause(
    'oil pressure sensor drifts or is stuck',
    ['AIR', '3.3'],
    [...SENSOR_STEPS, 'sensor_oil_gauge'],
  ),
  sensor_compressor_outlet_temperature_drift: cause(
    'compressor outlet temperature sensor drifts or is stuck',
    ['AIR', '3.3'],
    [...SENSOR_STEPS, 'sensor_temperature_standstill'],
  ),
  sensor_filter_pressure_drop_drift: cause(
    'air-filter drop sensor drifts or is stuck',
    ['AIR', '3.3'],
    [...SENSOR_STEPS, 'filter_drop'],
  ),
  sensor_cooler_pressure_drop_drift: cause(
    'cooler drop sensor drifts or is stuck',
    ['AIR', '3.3'],
    [...SENSOR_STEPS, 'cooler_drop'],
  ),
  sensor_turbocharger_speed_drift: cause('turbocharger speed sensor drifts or is stuck', ['AIR', '3.3'], SENSOR_STEPS),
  sensor_stuck: cause('sensor stuck', ['AIR', '3.3'], SENSOR_STEPS),
  sensor_missing: cause('sensor or its line gives no value', ['AIR', '3.2'], SENSOR_STEPS),
  pressure_reference_mixup: cause(
    'gauge and absolute pressure mixed up',
    ['AIR', '3.4'],
    ['read_codes', 'read_log', 'sensor_reference_setting', 'sensor_boost_standstill', 'sensor_boost_gauge'],
  ),
};
