import type { SignalKey } from '../../schemas/signals.ts';

/**
 * Where NMEA 2000 puts one number, and what it becomes here. Facts from the openly licensed table canboat/canboat at
 * 01d0dc3d (Apache-2.0). Numbers that are no signal of ours are read as well, for the report: they show which sender is
 * wired to what.
 */
export type N2kParameter = {
  readonly pgn: number;
  readonly field: string;
  /** What it is by itself; `undefined` where the source says it, or where it is no signal. */
  readonly signal: SignalKey | undefined;
  /** The signal by the source that the message states. */
  readonly bySource?: ReadonlyMap<number, SignalKey>;
  /** Which of several messages with one signal is believed: the finer resolution first. */
  readonly rank: number;
  /** First byte in the message, from 1; more bytes follow with the higher digits (little-endian). */
  readonly firstByte: number;
  readonly byteCount: 1 | 2 | 3 | 4;
  /** Two's complement. */
  readonly isSigned: boolean;
  /** value = raw / steps + offset, in `unit`; whole steps are exact where their inverse (0.1, 0.01) is not. */
  readonly steps: number;
  readonly offset: number;
  readonly unit: string;
};

/** Whose number a message holds, and where it says so. Bytes from 1; 0 where the message has no such field. */
export type N2kMessage = {
  readonly pgn: number;
  readonly kind: 'engine' | 'environment';
  readonly instanceByte: number;
  readonly sourceByte: number;
  /** Bits of the source byte that are the source. */
  readonly sourceMask: number;
  /** Longer than a frame of eight bytes, so it comes as a fast packet. */
  readonly isFastPacket: boolean;
  readonly parameters: readonly N2kParameter[];
};

const KELVIN = -273.15;

/** Sources of a temperature in 130311, 130312 and 130316 that are signals: sea, outside, engine room, exhaust gas. */
const TEMPERATURE_SOURCES: ReadonlyMap<number, SignalKey> = new Map([
  [0, 'seaWaterTemperature'],
  [1, 'ambientAirTemperature'],
  [3, 'engineRoomTemperature'],
  [14, 'exhaustTemperature'],
]);
/** Sources of a pressure in 130314 that are signals: atmospheric. */
const PRESSURE_SOURCES: ReadonlyMap<number, SignalKey> = new Map([[0, 'barometricPressure']]);

/** Engine parameters, rapid update. Boost is taken as gauge (from memory; the table does not say) unless the rule says otherwise. */
const ENGINE_RAPID = 127_488;
/** Engine parameters, dynamic. */
const ENGINE_DYNAMIC = 127_489;
const TRANSMISSION = 127_493;

/** Byte of 127489 in which each status word begins. */
export const STATUS_WORD_BYTES = [21, 23] as const;

/** Every message that is read, with its numbers. */
export const N2K_MESSAGES: readonly N2kMessage[] = [
  message(ENGINE_RAPID, 'engine', { instanceByte: 1 }, [
    number('speed', 2, 2, { steps: 4, unit: 'rpm', signal: 'engineSpeed' }),
    number('boostPressure', 4, 2, { steps: 10, unit: 'kPa', signal: 'boostPressure' }),
    number('tiltTrim', 6, 1, { steps: 1, unit: '%', isSigned: true }),
  ]),
  message(ENGINE_DYNAMIC, 'engine', { instanceByte: 1, isFastPacket: true }, [
    number('oilPressure', 2, 2, { steps: 10, unit: 'kPa', signal: 'oilPressure' }),
    number('oilTemperature', 4, 2, { steps: 10, offset: KELVIN, unit: 'degC', signal: 'oilTemperature' }),
    number('temperature', 6, 2, { steps: 100, offset: KELVIN, unit: 'degC', signal: 'coolantTemperature' }),
    number('alternatorPotential', 8, 2, { steps: 100, unit: 'V', isSigned: true }),
    number('fuelRate', 10, 2, { steps: 10, unit: 'L/h', isSigned: true, signal: 'fuelRate' }),
    number('totalEngineHours', 12, 4, { steps: 3600, unit: 'h', signal: 'engineHours' }),
    number('coolantPressure', 16, 2, { steps: 10, unit: 'kPa', signal: 'coolantPressure' }),
    number('fuelPressure', 18, 2, { steps: 1, unit: 'kPa' }),
    number('engineLoad', 25, 1, { steps: 1, unit: '%', isSigned: true, signal: 'engineLoad' }),
    number('engineTorque', 26, 1, { steps: 1, unit: '%', isSigned: true, signal: 'actualTorque' }),
  ]),
  message(TRANSMISSION, 'engine', { instanceByte: 1 }, [
    number('oilPressure', 3, 2, { steps: 10, unit: 'kPa', signal: 'transmissionOilPressure' }),
    number('oilTemperature', 5, 2, { steps: 10, offset: KELVIN, unit: 'degC', signal: 'transmissionOilTemperature' }),
  ]),
  message(130_310, 'environment', {}, [
    number('waterTemperature', 2, 2, {
      steps: 100,
      offset: KELVIN,
      unit: 'degC',
      signal: 'seaWaterTemperature',
      rank: 4,
    }),
    number('outsideAmbientAirTemperature', 4, 2, {
      steps: 100,
      offset: KELVIN,
      unit: 'degC',
      signal: 'ambientAirTemperature',
      rank: 4,
    }),
    number('atmosphericPressure', 6, 2, { steps: 10, unit: 'kPa', signal: 'barometricPressure', rank: 4 }),
  ]),
  message(130_311, 'environment', { sourceByte: 2, sourceMask: 0x3f }, [
    number('temperature', 3, 2, { steps: 100, offset: KELVIN, unit: 'degC', bySource: TEMPERATURE_SOURCES, rank: 3 }),
    number('humidity', 5, 2, { steps: 250, unit: '%', isSigned: true }),
    number('atmosphericPressure', 7, 2, { steps: 10, unit: 'kPa', signal: 'barometricPressure', rank: 3 }),
  ]),
  message(130_312, 'environment', { instanceByte: 2, sourceByte: 3 }, [
    number('actualTemperature', 4, 2, {
      steps: 100,
      offset: KELVIN,
      unit: 'degC',
      bySource: TEMPERATURE_SOURCES,
      rank: 2,
    }),
  ]),
  message(130_314, 'environment', { instanceByte: 2, sourceByte: 3 }, [
    number('pressure', 4, 4, { steps: 10_000, unit: 'kPa', isSigned: true, bySource: PRESSURE_SOURCES, rank: 1 }),
  ]),
  message(130_316, 'environment', { instanceByte: 2, sourceByte: 3 }, [
    number('temperature', 4, 3, { steps: 1000, offset: KELVIN, unit: 'degC', bySource: TEMPERATURE_SOURCES, rank: 1 }),
  ]),
];

const RAW_VALUES = [1, 2 ** 8, 2 ** 16, 2 ** 24, 2 ** 32] as const;

/** How many raw numbers a field of so many bytes can hold. */
export function rawValues(byteCount: N2kParameter['byteCount']): number {
  return RAW_VALUES[byteCount];
}

/** What a raw number stands for: the three largest of its field are no values. */
export type N2kKind = 'valid' | 'reserved' | 'error' | 'not_available' | 'wrong_fill';

/**
 * The kind of a raw number, unsigned as it stands in the message.
 *
 * A signed field of all ones is -1 by the rules. It is taken for the filling of a sender that forgot the sign, as real
 * ones send it for load, torque and fuel rate: a true -1 is as rare as any other single value, and is lost.
 */
export function n2kKind(raw: number, parameter: Pick<N2kParameter, 'byteCount' | 'isSigned'>): N2kKind {
  const values = rawValues(parameter.byteCount);
  if (parameter.isSigned && raw === values - 1) return 'wrong_fill';
  const largest = parameter.isSigned ? values / 2 - 1 : values - 1;
  if (raw === largest) return 'not_available';
  if (raw === largest - 1) return 'error';
  return raw === largest - 2 ? 'reserved' : 'valid';
}

type Layout = {
  steps: number;
  offset?: number;
  unit: string;
  isSigned?: boolean;
  signal?: SignalKey;
  bySource?: ReadonlyMap<number, SignalKey>;
  rank?: number;
};

function number(field: string, firstByte: number, byteCount: N2kParameter['byteCount'], layout: Layout) {
  const { steps, offset = 0, unit, isSigned = false, signal, bySource, rank = 1 } = layout;
  return {
    field,
    firstByte,
    byteCount,
    steps,
    offset,
    unit,
    isSigned,
    signal,
    rank,
    ...(bySource === undefined ? {} : { bySource }),
  };
}

function message(
  pgn: number,
  kind: N2kMessage['kind'],
  where: { instanceByte?: number; sourceByte?: number; sourceMask?: number; isFastPacket?: boolean },
  numbers: readonly Omit<N2kParameter, 'pgn'>[],
): N2kMessage {
  const { instanceByte = 0, sourceByte = 0, sourceMask = 0xff, isFastPacket = false } = where;
  const parameters = numbers.map((item) => ({ pgn, ...item }));
  return { pgn, kind, instanceByte, sourceByte, sourceMask, isFastPacket, parameters };
}
