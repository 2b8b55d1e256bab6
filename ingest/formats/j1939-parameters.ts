import { SIGNALS, type SignalKey } from '../../schemas/signals.ts';

/**
 * Where SAE J1939-71 puts one parameter, and what it becomes here. Only parameters of the charge-air path and what it is
 * judged by; facts compared with two openly licensed tables (SystemsCyber/CSU-RP1210 J1939db.json at 524aa648, MIT;
 * canboat/canboat at 01d0dc3d, Apache-2.0).
 */
export type J1939Parameter = {
  readonly pgn: number;
  readonly spn: number;
  readonly signal: SignalKey;
  /** Which of several parameters of one signal is believed: the lowest rank that is alive. */
  readonly rank: number;
  /** First byte in the message, from 1; more bytes follow with the higher digits (little-endian). */
  readonly firstByte: number;
  readonly byteCount: 1 | 2 | 4;
  /** canonical = raw * scale + offset */
  readonly scale: number;
  readonly offset: number;
};

/**
 * A parameter of higher rank is believed while its last valid value is no older: the slowest message here comes once a
 * second, so ten are missed before the next one steps in. Common practice, no source.
 */
export const PARAMETER_ALIVE_MS = 10_000;

/**
 * Every parameter that is read.
 *
 * Ranks: the finer resolution first, with two exceptions. SPN 102 comes before SPN 1127 although its step is 2 kPa, for
 * real engines have sent 1127 as absolute pressure against the standard; a rule that states the reference of boost puts
 * 1127 first. SPN 2434 is the left bank, used only where neither SPN 173 nor the right bank is sent.
 * SPN 1176 is read as absolute, as a real engine sent it beside its barometer. SPN 1169, a second turbocharger's speed,
 * is not here: it must not pass for the first one's.
 */
export const J1939_PARAMETERS: readonly J1939Parameter[] = [
  parameter(61443, 91, 'acceleratorPosition', 2, 1, 0.4, 0),
  parameter(61443, 92, 'engineLoad', 3, 1, 1, 0),
  parameter(61444, 190, 'engineSpeed', 4, 2, 0.125, 0),
  parameter(61444, 512, 'demandTorque', 2, 1, 1, -125),
  parameter(61444, 513, 'actualTorque', 3, 1, 1, -125),
  parameter(61450, 132, 'intakeAirMassFlow', 3, 2, 0.05, 0),
  parameter(61450, 2659, 'egrMassFlow', 1, 2, 0.05, 0),
  parameter(64931, 641, 'vgtCommand', 3, 1, 0.4, 0),
  parameter(64976, 3562, 'boostPressure', 4, 1, 2, 0, 3),
  parameter(64976, 3563, 'intakeManifoldPressureAbsolute', 5, 1, 2, 0, 3),
  parameter(64976, 4817, 'intakeManifoldPressureAbsolute', 6, 2, 0.1, 0, 2),
  parameter(64979, 2629, 'compressorOutletTemperature', 1, 2, 0.03125, -273),
  parameter(64981, 2795, 'vgtPosition', 8, 1, 0.4, 0),
  parameter(65031, 2433, 'exhaustTemperature', 1, 2, 0.03125, -273, 2),
  parameter(65031, 2434, 'exhaustTemperature', 3, 2, 0.03125, -273, 3),
  parameter(65129, 1636, 'intakeManifoldTemperature', 1, 2, 0.03125, -273, 1),
  parameter(65129, 1637, 'coolantTemperature', 3, 2, 0.03125, -273, 1),
  parameter(65129, 2630, 'chargeAirCoolerOutletTemperature', 7, 2, 0.03125, -273),
  parameter(65175, 1184, 'turbineOutletTemperature', 1, 2, 0.03125, -273),
  parameter(65176, 1180, 'turbineInletTemperature', 1, 2, 0.03125, -273),
  parameter(65177, 1176, 'compressorInletPressure', 1, 2, 0.0078125, -250),
  parameter(65178, 1172, 'compressorInletTemperature', 1, 2, 0.03125, -273),
  parameter(65188, 411, 'egrDifferentialPressure', 5, 2, 0.0078125, -250),
  parameter(65188, 412, 'egrTemperature', 7, 2, 0.03125, -273),
  parameter(65189, 1131, 'intakeManifold2Temperature', 1, 1, 1, -40),
  parameter(65190, 1127, 'boostPressure', 1, 2, 0.125, 0, 2),
  parameter(65245, 103, 'turbochargerSpeed', 2, 2, 4, 0),
  parameter(65245, 104, 'turbochargerOilPressure', 1, 1, 4, 0),
  parameter(65253, 247, 'engineHours', 1, 4, 0.05, 0),
  parameter(65262, 52, 'intercoolerTemperature', 7, 1, 1, -40),
  parameter(65262, 110, 'coolantTemperature', 1, 1, 1, -40, 2),
  parameter(65262, 175, 'oilTemperature', 3, 2, 0.03125, -273),
  parameter(65262, 176, 'turbochargerOilTemperature', 5, 2, 0.03125, -273),
  parameter(65263, 100, 'oilPressure', 4, 1, 4, 0),
  parameter(65263, 101, 'crankcasePressure', 5, 2, 0.0078125, -250),
  parameter(65265, 84, 'vehicleSpeed', 2, 2, 1 / 256, 0),
  parameter(65266, 183, 'fuelRate', 1, 2, 0.05, 0),
  parameter(65269, 108, 'barometricPressure', 1, 1, 0.5, 0),
  parameter(65269, 171, 'ambientAirTemperature', 4, 2, 0.03125, -273),
  parameter(65269, 172, 'intakeAirTemperature', 6, 1, 1, -40),
  parameter(65270, 102, 'boostPressure', 2, 1, 2, 0, 1),
  parameter(65270, 105, 'intakeManifoldTemperature', 3, 1, 1, -40, 2),
  parameter(65270, 106, 'intakeAirPressure', 4, 1, 2, 0),
  parameter(65270, 107, 'airFilterDifferentialPressure', 5, 1, 0.05, 0),
  parameter(65270, 173, 'exhaustTemperature', 6, 2, 0.03125, -273, 1),
];

/**
 * The parameters as one engine sends them.
 *
 * @param p.boostReference - What the fleet file says of this engine's SPN 1127. `absolute` makes it the absolute
 *   manifold pressure; either makes it the first choice, for it is sixteen times finer than SPN 102.
 */
export function parametersOf(p: { boostReference: 'gauge' | 'absolute' | undefined }): readonly J1939Parameter[] {
  if (p.boostReference === undefined) return J1939_PARAMETERS;
  const signal = p.boostReference === 'absolute' ? 'intakeManifoldPressureAbsolute' : 'boostPressure';
  return J1939_PARAMETERS.map((item) => (item.spn === 1127 ? { ...item, signal, rank: 0 } : item));
}

/** What a raw number stands for. SAE J1939-71 by its most significant byte: 0xFB, 0xFC-0xFD, 0xFE, 0xFF are no values. */
export type RawKind = 'valid' | 'reserved' | 'error' | 'not_available';

/** The kind of a raw number by its most significant byte. */
export function rawKind(mostSignificantByte: number): RawKind {
  if (mostSignificantByte <= 0xfa) return 'valid';
  if (mostSignificantByte === 0xff) return 'not_available';
  return mostSignificantByte === 0xfe ? 'error' : 'reserved';
}

/** Unit of a parameter's values. */
export function parameterUnit(parameter: J1939Parameter): string {
  return SIGNALS[parameter.signal].unit;
}

function parameter(
  pgn: number,
  spn: number,
  signal: SignalKey,
  firstByte: number,
  byteCount: 1 | 2 | 4,
  scale: number,
  offset: number,
  rank = 1,
): J1939Parameter {
  return { pgn, spn, signal, rank, firstByte, byteCount, scale, offset };
}
