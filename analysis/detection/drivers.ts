import type { OperatingPoint } from '../../schemas/operating-point.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import type { Unit } from '../../schemas/unit.ts';
import { airSignal, firstFitted, sinkSignal } from '../manipulation/air-and-sink.ts';
import { loadSignal } from '../manipulation/load-signal.ts';

/**
 * What an expectation is conditioned on, scaled to about one: the engine's load and speed, its air, its cooler's
 * cooling medium, and its oil. A driver without a sensor is `undefined` and its features are left out.
 */
export type Drivers = {
  /** Fuel rate (or load) as a share of rated, speed as a share of rated. */
  readonly load: number | undefined;
  readonly speed: number;
  /** Air at the compressor inlet, in 20 K from 25 °C. */
  readonly air: number | undefined;
  /** Barometric pressure, in 10 kPa from 100 kPa. */
  readonly barometer: number | undefined;
  /** Cooling medium into the charge-air cooler, in 20 K from 25 °C. */
  readonly sink: number | undefined;
  /** Engine oil (else coolant), in 20 K from 90 °C. */
  readonly oil: number | undefined;
};

/**
 * Reads the drivers of an operating point.
 *
 * @param point - The operating point.
 * @param unit - Gives rated values and which sensors are fitted.
 * @returns The drivers, or `undefined` when a driver that the unit has a sensor for is missing from this point: such a
 *   point can be neither learnt from nor judged.
 */
export function driversOf(point: OperatingPoint, unit: Unit): Drivers | undefined {
  const speed = point.signals.engineSpeed?.mean;
  if (speed === undefined) return undefined;
  const load = loadSignal(unit);
  const read = (key: SignalKey | undefined) => (key === undefined ? undefined : point.signals[key]?.mean);
  const wanted = {
    load: load?.key,
    air: airSignal(unit),
    barometer: unit.sensors.barometricPressure === undefined ? undefined : ('barometricPressure' as const),
    sink: sinkSignal(unit),
    oil: firstFitted(unit, ['oilTemperature', 'coolantTemperature']),
  };
  for (const key of Object.values(wanted)) if (key !== undefined && read(key) === undefined) return undefined;
  const scaled = (value: number | undefined, centre: number, span: number) =>
    value === undefined ? undefined : (value - centre) / span;
  return {
    load: scaled(read(wanted.load), 0, load?.rated ?? 1),
    speed: speed / unit.engine.ratedSpeedRpm,
    air: scaled(read(wanted.air), 25, 20),
    barometer: scaled(read(wanted.barometer), 100, 10),
    sink: wanted.sink === wanted.air ? undefined : scaled(read(wanted.sink), 25, 20),
    oil: scaled(read(wanted.oil), 90, 20),
  };
}
