import { SIGNALS, type SignalKey } from '../../schemas/signals.ts';
import type { N2kRule } from '../../schemas/source-rule.ts';
import { EVERY_UNIT, type Target } from './engine-samples.ts';
import type { N2kMessage, N2kParameter } from './n2k-parameters.ts';
import { createStream } from './sender-choice.ts';

/** One number of one message as one sender sends it. */
export type N2kOrigin = {
  readonly message: N2kMessage;
  readonly parameter: N2kParameter;
  readonly sender: number;
  /** -1 where the message has none. */
  readonly instance: number;
  readonly source: number;
};

/** Which unit each engine instance is, as an index among the rule's units. */
export type EngineUnits = ReadonlyMap<string, number>;

/**
 * Where a number goes by the rule: to the sensors it names for a signal, best first; where it names none, to what the
 * standard says, the finer message first and then the lower address.
 *
 * @param p.engines - Units by engine instance.
 * @returns `undefined` when it is not to be read.
 */
export function targetOf(p: {
  rule: N2kRule;
  engines: EngineUnits;
  origin: N2kOrigin;
  units: readonly string[];
}): Target | undefined {
  const { rule, origin, units } = p;
  const { message, parameter, sender, instance, source } = origin;
  const own = boostSignal(rule, parameter.signal ?? parameter.bySource?.get(source));
  const engineUnit = message.kind === 'engine' ? p.engines.get(String(instance)) : undefined;
  if (message.kind === 'engine' && engineUnit === undefined) return undefined;
  const listed = rule.sensors.findIndex((sensor) => {
    if (sensor.pgn !== undefined && sensor.pgn !== message.pgn) return false;
    if (sensor.sender !== undefined && sensor.sender !== sender) return false;
    if (sensor.instance !== undefined && sensor.instance !== instance) return false;
    if (sensor.source !== undefined && sensor.source !== source) return false;
    if (engineUnit !== undefined && sensor.unit !== undefined && units.indexOf(sensor.unit) !== engineUnit)
      return false;
    return (
      sensor.signal === own || (parameter.bySource !== undefined && SIGNALS[sensor.signal].unit === parameter.unit)
    );
  });
  const sensor = rule.sensors[listed];
  const signal = sensor?.signal ?? own;
  if (signal === undefined || rule.leaveOut.includes(signal)) return undefined;
  if (sensor === undefined && rule.sensors.some((other) => other.signal === signal)) return undefined;
  // Whose exhaust gas it is, a temperature message does not say.
  const unit = engineUnit ?? (sensor?.unit === undefined ? EVERY_UNIT : units.indexOf(sensor.unit));
  if (unit === EVERY_UNIT && units.length > 1 && isOfOneEngine(signal)) return undefined;
  const rank = sensor === undefined ? parameter.rank : listed;
  return {
    unit,
    signal,
    stream: createStream(((rank * 256 + sender) * 257 + instance + 1) * 256 + Math.max(0, source)),
  };
}

const AROUND_ALL: readonly SignalKey[] = [
  'barometricPressure',
  'ambientAirTemperature',
  'seaWaterTemperature',
  'engineRoomTemperature',
];

function isOfOneEngine(signal: SignalKey): boolean {
  return !AROUND_ALL.includes(signal);
}

function boostSignal(rule: N2kRule, signal: SignalKey | undefined): SignalKey | undefined {
  const isAbsolute = signal === 'boostPressure' && rule.references?.boostPressure === 'absolute';
  return isAbsolute ? 'intakeManifoldPressureAbsolute' : signal;
}
