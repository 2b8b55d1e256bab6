import type { SignalKey } from '../../schemas/signals.ts';

/** Signals that the engine model can show, in the order of its output array. */
export const MODEL_SIGNALS = [
  'engineSpeed',
  'engineLoad',
  'actualTorque',
  'boostPressure',
  'intakeManifoldTemperature',
  'compressorInletTemperature',
  'compressorInletPressure',
  'compressorOutletTemperature',
  'chargeAirCoolerDifferentialPressure',
  'airFilterDifferentialPressure',
  'exhaustTemperature',
  'turbineInletPressure',
  'turbineOutletTemperature',
  'turbochargerSpeed',
  'vgtPosition',
  'oilPressure',
  'oilTemperature',
  'turbochargerOilPressure',
  'turbochargerOilTemperature',
  'coolantTemperature',
  'coolerWaterInletTemperature',
  'coolerWaterOutletTemperature',
  'barometricPressure',
  'ambientAirTemperature',
  'intakeAirTemperature',
  'seaWaterTemperature',
  'engineRoomTemperature',
  'fuelRate',
  'vehicleSpeed',
  'engineHours',
] as const satisfies readonly SignalKey[];

export type ModelSignal = (typeof MODEL_SIGNALS)[number];

/** Place of each signal in the output array. */
export const PLACE = Object.fromEntries(MODEL_SIGNALS.map((key, index) => [key, index])) as {
  readonly [K in ModelSignal]: number;
};
