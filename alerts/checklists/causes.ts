import { isSignalKey, SIGNALS } from '../../schemas/signals.ts';
import type { CauseFacts } from './cause-facts.ts';
import { CAUSES } from './cause-table.ts';
import { SENSOR_STEPS } from './sensor-cause-table.ts';
import type { StepId } from './steps.ts';

/**
 * The step that proves the sensors behind a channel or signal, least effort first.
 *
 * @returns `undefined` for what no general step proves, such as a speed or an actuator.
 */
export function sensorProof(subject: string): StepId | undefined {
  if (/^(exhaust|turbine).*temperature/i.test(subject)) return 'sensor_exhaust_standstill';
  if (/oilPressure$/i.test(subject)) return 'sensor_oil_gauge';
  if (/^boost|^intake.*pressure/i.test(subject)) return 'sensor_boost_standstill';
  if (/temperature|^cooler(Approach|Effectiveness)$/i.test(subject)) return 'sensor_temperature_standstill';
  return undefined;
}

function sensorSteps(signal: string): readonly StepId[] {
  const proof = sensorProof(signal);
  if (proof === undefined) return SENSOR_STEPS;
  return proof === 'sensor_boost_standstill'
    ? [...SENSOR_STEPS, proof, 'sensor_boost_gauge']
    : [...SENSOR_STEPS, proof];
}

/** Whether this is a cause that a task can be closed with: one of {@link CAUSES} or the sensor of a known signal. */
export function isCause(id: string): boolean {
  return Object.hasOwn(CAUSES, id) || (id.startsWith('sensor_') && isSignalKey(id.slice('sensor_'.length)));
}

/**
 * Facts of a cause.
 *
 * @param id - Id of the fault-symptom matrix, `sensor_` with a signal key or signal, or `unknown`.
 * @returns Its facts; of a `sensor_` id outside the table those of any sensor; for another id those of `unknown` under
 *   the id's own words, so that a cause added to the matrix still gets a work sheet.
 */
export function causeFacts(id: string): CauseFacts {
  const known = Object.hasOwn(CAUSES, id) ? CAUSES[id] : undefined;
  if (known !== undefined) return known;
  if (id.startsWith('sensor_')) {
    const signal = id.slice('sensor_'.length);
    const term = isSignalKey(signal) ? SIGNALS[signal].term : signal.replaceAll('_', ' ');
    return { term: `sensor fault: ${term}`, usualMode: 'AIR', usualMechanism: '3.3', steps: sensorSteps(signal) };
  }
  return { term: id.replaceAll('_', ' '), steps: CAUSES['unknown']?.steps ?? [] };
}
