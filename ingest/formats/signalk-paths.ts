import type { SignalKey } from '../../schemas/signals.ts';

/**
 * What a Signal K path is here. Names and units from the Signal K schema 1.8.2 (facts only); the unit in the file is
 * always the SI unit.
 */
export type SignalKPath = {
  readonly signal: SignalKey;
  /** Id of the engine in the path; `undefined` for what is around all engines. */
  readonly engine: string | undefined;
  /** Which of several paths of one signal is believed first. */
  readonly rank: number;
  /** canonical = value * scale + offset */
  readonly scale: number;
  readonly offset: number;
  /** Values in SI units that a converter makes of the codes of a bus field, within the range of the signal. */
  readonly leaked: readonly number[];
};

type Layout = Omit<SignalKPath, 'engine'>;

const HZ_TO_RPM = 60;
const PA_TO_KPA = 0.001;
const M3_PER_S_TO_L_PER_H = 3.6e6;
const S_TO_H = 1 / 3600;

/**
 * Codes of two-byte temperatures in hundredths of a kelvin: "not available" of a signed and of an unsigned field, and
 * the two codes below the latter. A real file has 327.67 K for a battery without a sensor.
 */
const TEMPERATURE_CODES = [327.67, 655.35, 655.34, 655.33];
/** Codes of a signed byte of percent: "not available", "error", and one filled with ones. */
const PERCENT_CODES = [1.27, 1.26, -0.01];
/** A signed fuel rate in tenths of a litre an hour, filled with ones, in m3/s. */
const FUEL_RATE_CODES = [-0.1 / M3_PER_S_TO_L_PER_H];

/** How near a value must be to a code: files carry single-precision numbers. */
const CODE_TOLERANCE = 2e-7;

const ENGINE_PATHS: ReadonlyMap<string, Layout> = new Map([
  ['revolutions', layout('engineSpeed', HZ_TO_RPM)],
  ['engineLoad', layout('engineLoad', 100, 0, PERCENT_CODES)],
  ['engineTorque', layout('actualTorque', 100, 0, PERCENT_CODES)],
  ['boostPressure', layout('boostPressure', PA_TO_KPA)],
  ['intakeManifoldTemperature', temperature('intakeManifoldTemperature')],
  ['exhaustTemperature', temperature('exhaustTemperature')],
  ['oilPressure', layout('oilPressure', PA_TO_KPA)],
  ['oilTemperature', temperature('oilTemperature')],
  ['coolantTemperature', temperature('coolantTemperature')],
  // What converters make of the engine temperature of NMEA 2000.
  ['temperature', { ...temperature('coolantTemperature'), rank: 2 }],
  ['coolantPressure', layout('coolantPressure', PA_TO_KPA)],
  ['fuel.rate', layout('fuelRate', M3_PER_S_TO_L_PER_H, 0, FUEL_RATE_CODES)],
  ['runTime', layout('engineHours', S_TO_H)],
  ['transmission.oilPressure', layout('transmissionOilPressure', PA_TO_KPA)],
  ['transmission.oilTemperature', temperature('transmissionOilTemperature')],
]);

const SURROUNDING_PATHS: ReadonlyMap<string, Layout> = new Map([
  ['environment.outside.pressure', layout('barometricPressure', PA_TO_KPA)],
  ['environment.outside.temperature', temperature('ambientAirTemperature')],
  ['environment.water.temperature', temperature('seaWaterTemperature')],
  ['environment.inside.engineRoom.temperature', temperature('engineRoomTemperature')],
]);

/** An old spelling of the outside temperature, seen in a real file. */
const OLD_OUTSIDE_TEMPERATURE = /^environment\.temperature\.[^.]+\.outside$/;

/**
 * What a path is.
 *
 * @returns `undefined` when it is no signal.
 */
export function signalKPath(path: string): SignalKPath | undefined {
  if (path.startsWith('propulsion.')) {
    const from = 'propulsion.'.length;
    const to = path.indexOf('.', from);
    const found = to < 0 ? undefined : ENGINE_PATHS.get(path.slice(to + 1));
    return found === undefined ? undefined : { ...found, engine: path.slice(from, to) };
  }
  const around = SURROUNDING_PATHS.get(path);
  if (around !== undefined) return { ...around, engine: undefined };
  if (!OLD_OUTSIDE_TEMPERATURE.test(path)) return undefined;
  return { ...temperature('ambientAirTemperature'), rank: 2, engine: undefined };
}

/** Whether a value is the code of a bus field that a converter took for a number. */
export function isLeakedCode(path: SignalKPath, value: number): boolean {
  return path.leaked.some((code) => Math.abs(value - code) <= Math.abs(code) * CODE_TOLERANCE);
}

function layout(signal: SignalKey, scale: number, offset = 0, leaked: readonly number[] = []): Layout {
  return { signal, rank: 1, scale, offset, leaked };
}

function temperature(signal: SignalKey): Layout {
  return layout(signal, 1, -273.15, TEMPERATURE_CODES);
}
