import type { SignalKey } from '../../schemas/signals.ts';
import type { Unit } from '../../schemas/unit.ts';

const AIR_SIGNALS: readonly SignalKey[] = [
  'compressorInletTemperature',
  'intakeAirTemperature',
  'ambientAirTemperature',
  'engineRoomTemperature',
];

/** Cooling medium of the charge-air cooler by its kind, best signal first. */
const SINK_SIGNALS = {
  air_to_air: ['ambientAirTemperature', 'intakeAirTemperature'],
  engine_jacket_water: ['coolerWaterInletTemperature', 'coolantTemperature'],
  separate_circuit: ['coolerWaterInletTemperature', 'intercoolerTemperature'],
  seawater: ['coolerWaterInletTemperature', 'seaWaterTemperature'],
} as const satisfies Record<string, readonly SignalKey[]>;

/**
 * The first of these signals that the unit has fitted, or `undefined`.
 *
 * @param unit - Its `sensors` decide, not the data of a moment: a sensor that drops out must not swap the physics.
 * @param keys - Signals, best first.
 */
export function firstFitted(unit: Unit, keys: readonly SignalKey[]): SignalKey | undefined {
  return keys.find((key) => unit.sensors[key] !== undefined);
}

/** The signal that measures the cooling medium into the charge-air cooler, or `undefined` when none is fitted. */
export function sinkSignal(unit: Unit): SignalKey | undefined {
  return firstFitted(unit, SINK_SIGNALS[unit.engine.cooler]);
}

/** The signal that measures the air at the compressor inlet, or `undefined` when none is fitted. */
export function airSignal(unit: Unit): SignalKey | undefined {
  return firstFitted(unit, AIR_SIGNALS);
}
