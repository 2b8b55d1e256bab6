/** What a pressure is measured against. A wrong reference is wrong by a whole barometer, so it is always said. */
export type PressureReference = 'gauge' | 'absolute' | 'differential';

/** The canonical units: every number past the decoders is in one of these. */
export type CanonicalUnit = 'kPa' | 'degC' | 'rpm' | '%' | 'L/h' | 'km/h' | 'kg/h' | 'h' | 'kW' | 'state';

/** One measured quantity of an engine. */
export type Signal = {
  /** Name for people, in the trade's words. */
  readonly term: string;
  readonly unit: CanonicalUnit;
  readonly reference?: PressureReference;
  /** Physically possible range in `unit`; a value outside it is refused as `value_out_of_range`. */
  readonly min: number;
  readonly max: number;
  /** Fastest believable change in `unit` per second, for judging a sensor, never for refusing a value. */
  readonly maxRatePerSecond: number;
};

/**
 * Every signal that the pipeline knows, by its key. Ranges are what such an engine can physically show with room to
 * spare (from memory and common practice), not limits of any engine: limits stand in the fleet file.
 */
export const SIGNALS = {
  engineSpeed: signal('engine speed', 'rpm', 0, 5000, 1500),
  engineLoad: signal('engine percent load at current speed', '%', 0, 150, 150),
  actualTorque: signal('actual engine percent torque', '%', -125, 125, 250),
  demandTorque: signal("driver's demand engine percent torque", '%', -125, 125, 250),
  acceleratorPosition: signal('accelerator pedal position', '%', 0, 110, 500),
  boostPressure: signal('boost: intake manifold pressure', 'kPa', -80, 600, 150, 'gauge'),
  intakeManifoldPressureAbsolute: signal('intake manifold pressure', 'kPa', 15, 700, 150, 'absolute'),
  intakeAirPressure: signal('intake air pressure', 'kPa', 40, 700, 150, 'absolute'),
  intakeManifoldTemperature: signal('charge-air temperature after the cooler', 'degC', -50, 200, 10),
  intakeManifold2Temperature: signal('charge-air temperature, second bank', 'degC', -50, 200, 10),
  chargeAirCoolerOutletTemperature: signal('charge-air temperature at the cooler outlet', 'degC', -50, 250, 10),
  intercoolerTemperature: signal('intercooler coolant temperature', 'degC', -50, 200, 5),
  compressorInletTemperature: signal('compressor inlet temperature', 'degC', -60, 120, 5),
  compressorInletPressure: signal('compressor inlet pressure', 'kPa', 40, 120, 20, 'absolute'),
  compressorOutletTemperature: signal('compressor outlet temperature', 'degC', -50, 400, 30),
  chargeAirCoolerDifferentialPressure: signal(
    'charge-air cooler pressure drop, air side',
    'kPa',
    -5,
    60,
    40,
    'differential',
  ),
  exhaustTemperature: signal('exhaust temperature before the turbine', 'degC', -50, 1000, 60),
  turbineInletTemperature: signal('turbine inlet temperature', 'degC', -50, 1000, 60),
  turbineInletPressure: signal('exhaust manifold pressure before the turbine', 'kPa', -30, 900, 200, 'gauge'),
  turbineOutletTemperature: signal('turbine outlet temperature', 'degC', -50, 900, 40),
  turbochargerSpeed: signal('turbocharger speed', 'rpm', 0, 300_000, 80_000),
  vgtCommand: signal('variable geometry actuator command', '%', 0, 110, 500),
  vgtPosition: signal('variable geometry actuator position', '%', 0, 110, 500),
  wastegateCommand: signal('wastegate command', '%', 0, 110, 500),
  airFilterDifferentialPressure: signal('air filter pressure drop', 'kPa', -1, 25, 15, 'differential'),
  oilPressure: signal('engine oil pressure', 'kPa', -20, 1200, 500, 'gauge'),
  oilTemperature: signal('engine oil temperature', 'degC', -50, 200, 3),
  turbochargerOilPressure: signal('oil pressure at the turbocharger inlet', 'kPa', -20, 1200, 500, 'gauge'),
  turbochargerOilTemperature: signal('oil temperature at the turbocharger outlet', 'degC', -50, 250, 5),
  coolantTemperature: signal('coolant temperature', 'degC', -50, 160, 3),
  coolantPressure: signal('coolant pressure', 'kPa', -50, 800, 300, 'gauge'),
  coolerWaterInletTemperature: signal('charge-air cooler water inlet temperature', 'degC', -10, 130, 3),
  coolerWaterOutletTemperature: signal('charge-air cooler water outlet temperature', 'degC', -10, 150, 3),
  crankcasePressure: signal('crankcase pressure', 'kPa', -50, 100, 50, 'gauge'),
  barometricPressure: signal('barometric pressure', 'kPa', 45, 110, 0.5, 'absolute'),
  ambientAirTemperature: signal('ambient air temperature', 'degC', -60, 70, 2),
  intakeAirTemperature: signal('intake air temperature before the compressor', 'degC', -60, 120, 5),
  seaWaterTemperature: signal('seawater temperature', 'degC', -3, 45, 1),
  engineRoomTemperature: signal('engine room temperature', 'degC', -40, 90, 1),
  fuelRate: signal('fuel rate', 'L/h', 0, 3000, 500),
  vehicleSpeed: signal('road speed', 'km/h', 0, 255, 40),
  intakeAirMassFlow: signal('intake air mass flow', 'kg/h', 0, 60_000, 20_000),
  egrMassFlow: signal('recirculated exhaust mass flow', 'kg/h', 0, 30_000, 10_000),
  egrTemperature: signal('recirculated exhaust temperature', 'degC', -50, 900, 60),
  egrDifferentialPressure: signal('exhaust recirculation pressure drop', 'kPa', -250, 250, 200, 'differential'),
  engineHours: signal('engine running hours', 'h', 0, 500_000, 1),
  transmissionOilPressure: signal('transmission oil pressure', 'kPa', -20, 5000, 2000, 'gauge'),
  transmissionOilTemperature: signal('transmission oil temperature', 'degC', -50, 200, 3),
} as const satisfies Record<string, Signal>;

export type SignalKey = keyof typeof SIGNALS;

/** All signal keys, in the order of the table. */
export const SIGNAL_KEYS = Object.keys(SIGNALS) as readonly SignalKey[];

/** Whether a text is the key of a known signal. */
export function isSignalKey(text: string): text is SignalKey {
  return Object.hasOwn(SIGNALS, text);
}

function signal(
  term: string,
  unit: CanonicalUnit,
  min: number,
  max: number,
  maxRatePerSecond: number,
  reference?: PressureReference,
): Signal {
  return { term, unit, min, max, maxRatePerSecond, ...(reference === undefined ? {} : { reference }) };
}
