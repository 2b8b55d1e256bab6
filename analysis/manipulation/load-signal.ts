import type { SignalKey } from '../../schemas/signals.ts';
import type { Unit } from '../../schemas/unit.ts';

/** Litres an hour that a heavy diesel burns a rated kilowatt: about 215 g/kWh at 0.84 kg/L. Common practice, no source. */
const FUEL_LPH_PER_KW = 0.256;

/** The signal that stands for an engine's load, and its value at rated power. */
export type LoadSignal = { readonly key: SignalKey; readonly rated: number };

/**
 * Which signal stands for the load of a unit. Fuel rate comes first: held against load percentage, a fuel fault looks
 * like an air fault.
 *
 * @param unit - The unit; the signals it lists under `sensors` decide.
 * @returns The signal with its rated value in the signal's unit, or `undefined` when neither fuel rate, load nor torque
 *   is fitted: such a unit has speed alone, and only its oil pressure can be judged.
 */
export function loadSignal(unit: Unit): LoadSignal | undefined {
  if (unit.sensors.fuelRate !== undefined) {
    return { key: 'fuelRate', rated: unit.engine.ratedPowerKw * FUEL_LPH_PER_KW };
  }
  if (unit.sensors.engineLoad !== undefined) return { key: 'engineLoad', rated: 100 };
  if (unit.sensors.actualTorque !== undefined) return { key: 'actualTorque', rated: 100 };
  return undefined;
}
