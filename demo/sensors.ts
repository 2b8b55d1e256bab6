import { type ModelSignal, PLACE } from './engine/outputs.ts';
import { type FaultPlan, faultSeverity } from './fault-plan.ts';
import { createRandom, type RandomSource, seedOf } from './random.ts';

/** How one sensor reads. All in the canonical unit of its signal. */
export type SensorFit = {
  readonly key: ModelSignal;
  /** Step of the reading; SAE J1939 resolutions on road vehicles (decoder table of a public repository). */
  readonly resolution: number;
  readonly noiseSd: number;
  /** Spread from unit to unit of the constant error. */
  readonly biasSd: number;
  /** Random walk of the error over a day. */
  readonly driftSdPerDay: number;
};

/** Typical errors by signal (common practice, no source): resolution, noise, bias, daily drift. */
const KINDS: { readonly [K in ModelSignal]: readonly [number, number, number, number] } = {
  engineSpeed: [0.125, 2, 0, 0],
  engineLoad: [1, 0.3, 0, 0],
  actualTorque: [1, 0.3, 0, 0],
  boostPressure: [2, 1, 1, 0.02],
  intakeManifoldTemperature: [1, 0.35, 0.6, 0.01],
  compressorInletTemperature: [0.03125, 0.3, 0.5, 0.01],
  compressorInletPressure: [0.0078125, 0.06, 0.1, 0.002],
  compressorOutletTemperature: [0.03125, 0.6, 0.8, 0.01],
  chargeAirCoolerDifferentialPressure: [0.05, 0.12, 0.1, 0.002],
  airFilterDifferentialPressure: [0.05, 0.05, 0.05, 0.001],
  exhaustTemperature: [0.03125, 1.5, 2.5, 0.03],
  turbineInletPressure: [1, 1.5, 1.5, 0.02],
  turbineOutletTemperature: [0.03125, 1.5, 2.5, 0.03],
  turbochargerSpeed: [4, 60, 0, 0],
  vgtPosition: [0.4, 0.6, 0.5, 0.005],
  oilPressure: [4, 2.5, 3, 0.03],
  oilTemperature: [0.03125, 0.3, 0.8, 0.01],
  turbochargerOilPressure: [4, 2.5, 3, 0.03],
  turbochargerOilTemperature: [0.03125, 0.4, 0.8, 0.01],
  coolantTemperature: [1, 0.2, 0.6, 0.005],
  coolerWaterInletTemperature: [0.1, 0.15, 0.3, 0.005],
  coolerWaterOutletTemperature: [0.1, 0.15, 0.3, 0.005],
  barometricPressure: [0.5, 0.05, 0.15, 0.002],
  ambientAirTemperature: [0.03125, 0.25, 0.5, 0.005],
  intakeAirTemperature: [1, 0.3, 0.5, 0.005],
  seaWaterTemperature: [0.1, 0.05, 0.2, 0.005],
  engineRoomTemperature: [0.1, 0.3, 0.4, 0.005],
  fuelRate: [0.05, 0.08, 0, 0],
  vehicleSpeed: [0.00390625, 0.1, 0, 0],
  engineHours: [0.05, 0, 0, 0],
};

/** Marine panels send finer steps of pressure than SAE J1939 does. */
const FINE_RESOLUTION: Partial<Record<ModelSignal, number>> = {
  boostPressure: 0.1,
  intakeManifoldTemperature: 0.1,
  oilPressure: 0.5,
  turbochargerOilPressure: 0.5,
  coolantTemperature: 0.1,
  barometricPressure: 0.1,
  intakeAirTemperature: 0.1,
  engineLoad: 0.1,
};

/** Signals counted from pulses or worked out by a controller: never below zero, shares never above the whole. */
const RANGES: Partial<Record<ModelSignal, readonly [number, number]>> = {
  engineSpeed: [0, 8000],
  engineLoad: [0, 100],
  actualTorque: [0, 100],
  turbochargerSpeed: [0, 250_000],
  vgtPosition: [0, 100],
  fuelRate: [0, 3000],
  vehicleSpeed: [0, 250],
  engineHours: [0, 1e6],
};

/** Fits sensors for the given signals: with the resolutions of SAE J1939, or the finer ones of a panel with 4–20 mA inputs. */
export function fitSensors(keys: readonly ModelSignal[], fine: boolean): SensorFit[] {
  return keys.map((key) => {
    const [resolution, noiseSd, biasSd, driftSdPerDay] = KINDS[key];
    return { key, resolution: (fine ? FINE_RESOLUTION[key] : undefined) ?? resolution, noiseSd, biasSd, driftSdPerDay };
  });
}

/** A set of sensors with their constant errors drawn. */
export type SensorSet = {
  /** Sets the errors of a day: constant error, drift so far, planned sensor faults. */
  readonly startDay: (day: number, random: RandomSource, dayStartMs: number) => void;
  /** Reads every sensor once, from the true values into row `row` of the columns, canonical units. */
  readonly read: (truth: Float64Array, columns: readonly Float64Array[], row: number) => void;
};

/** Creates the sensors of a unit. Drift is a random walk by day, drawn from the seed so that any day can be asked for. */
export function createSensors(
  fits: readonly SensorFit[],
  faults: readonly FaultPlan[],
  seedText: string,
  seed: number,
): SensorSet {
  const random = createRandom(seedOf(seedText, seed, 77));
  const bias = fits.map((fit) => fit.biasSd * random.normal());
  const drifts = fits.map((fit) =>
    createDrift(fit.driftSdPerDay, createRandom(seedOf(`${seedText}/${fit.key}`, seed))),
  );
  // Typed arrays side by side: this is read for every sensor of every sample.
  const places = Int32Array.from(fits, (fit) => PLACE[fit.key]);
  const resolutions = Float64Array.from(fits, (fit) => fit.resolution);
  const noises = Float64Array.from(fits, (fit) => fit.noiseSd);
  const lows = Float64Array.from(fits, (fit) => RANGES[fit.key]?.[0] ?? Number.NEGATIVE_INFINITY);
  const highs = Float64Array.from(fits, (fit) => RANGES[fit.key]?.[1] ?? Number.POSITIVE_INFINITY);
  const offsets = new Float64Array(fits.length);
  const stuck = new Float64Array(fits.length).fill(Number.NaN);
  let noise: RandomSource = random;
  return {
    startDay: (day, dayRandom, dayStartMs) => {
      noise = dayRandom;
      fits.forEach((fit, index) => {
        let offset = (bias[index] as number) + (drifts[index]?.(day) ?? 0);
        stuck[index] = Number.NaN;
        for (const fault of faults) {
          const { sensor } = fault;
          if (sensor?.key !== fit.key) continue;
          const size = faultSeverity(fault, dayStartMs);
          offset += (sensor.offset ?? 0) * size;
          if (sensor.stuckAt !== undefined && size > 0) stuck[index] = sensor.stuckAt;
        }
        offsets[index] = offset;
      });
    },
    read: (truth, columns, row) => {
      for (let i = 0; i < places.length; i += 1) {
        const exact = truth[places[i] as number] as number;
        const low = lows[i] as number;
        const held = stuck[i] as number;
        const resolution = resolutions[i] as number;
        const analog = exact + (offsets[i] as number) + (noises[i] as number) * noise.normal();
        const stepped = Math.round(analog / resolution) * resolution;
        // Pulses stop with the shaft: no noise about zero speed.
        const live = exact === 0 && low === 0 ? 0 : Math.min(Math.max(stepped, low), highs[i] as number);
        (columns[i] as Float64Array)[row] = Number.isNaN(held) ? live : held;
      }
    },
  };
}

/** A random walk by day, remembered, so that days may be asked for in any order. */
function createDrift(sdPerDay: number, random: RandomSource): (day: number) => number {
  const walk = [0];
  return (day) => {
    for (let known = walk.length; known <= day; known += 1)
      walk.push((walk[known - 1] ?? 0) + sdPerDay * random.normal());
    return walk[day] ?? 0;
  };
}
