import type { Drivers } from './drivers.ts';

/**
 * The regression features of a channel and the prior belief about their coefficients, before the unit itself is seen.
 * Coefficients are in shares of the channel's span, so one table serves all channels.
 */
export type FeatureSet = {
  /** Feature values at these drivers, or `undefined` when a driver the set needs is missing. */
  readonly values: (drivers: Drivers) => Float64Array | undefined;
  /** Prior precision (inverse covariance) of the coefficients, in 1/span². */
  readonly precision: readonly (readonly number[])[];
  readonly mean: readonly number[];
};

/** Knots of the hat functions over load (share of rated) and over speed: finer than any kink of a boost control map. */
const LOAD_KNOTS = [0, 0.15, 0.3, 0.45, 0.6, 0.75, 0.9, 1.05, 1.2] as const;
const SPEED_KNOTS = [0.2, 0.35, 0.5, 0.65, 0.8, 0.95, 1.1] as const;

/** Prior standard deviations in shares of span. Source: memory of how such engines answer; wide on purpose. */
const PRIOR = { level: 2, curvature: 0.2, speed: 0.7, product: 0.7, temperature: 0.1, pressure: 0.1 } as const;

/**
 * Which drivers a unit has; decides the length of its feature vectors.
 */
export type DriverPresence = { readonly [K in 'load' | 'air' | 'barometer' | 'sink' | 'oil']: boolean };

/** Presence of the drivers at a point, which is the same for all points of a unit. */
export function presenceOf(drivers: Drivers): DriverPresence {
  return {
    load: drivers.load !== undefined,
    air: drivers.air !== undefined,
    barometer: drivers.barometer !== undefined,
    sink: drivers.sink !== undefined,
    oil: drivers.oil !== undefined,
  };
}

/** Built sets by which drivers there are: at most 32 of each, and every point asks for one. */
const gasPathSets = new Map<string, FeatureSet>();
const oilSets = new Map<string, FeatureSet>();

/** Features of the gas path for these drivers, or `undefined` without a load signal. */
export function gasPathFeatures(presence: DriverPresence): FeatureSet | undefined {
  return presence.load ? remembered(gasPathSets, presence, buildGasPath) : undefined;
}

/** Features of oil pressure for these drivers. */
export function oilFeatures(presence: DriverPresence): FeatureSet {
  return remembered(oilSets, presence, buildOil);
}

function remembered(
  sets: Map<string, FeatureSet>,
  presence: DriverPresence,
  build: (presence: DriverPresence) => FeatureSet,
): FeatureSet {
  const key = `${presence.air}/${presence.barometer}/${presence.sink}/${presence.oil}`;
  const known = sets.get(key);
  if (known !== undefined) return known;
  const built = build(presence);
  sets.set(key, built);
  return built;
}

/**
 * Features of the gas path: hat functions over load with a smooth prior (so a wastegate's kink is learnt, yet a gap is
 * bridged by a straight line of growing variance), speed, and the air and cooling medium both alone and with load,
 * since their effect on boost and exhaust grows with it.
 */
function buildGasPath(presence: DriverPresence): FeatureSet {
  const names: ((d: Required<{ [K in keyof Drivers]: number }>) => number)[] = [
    (d) => d.speed - 0.7,
    (d) => (d.speed - 0.7) * (d.speed - 0.7),
    (d) => (d.speed - 0.7) * d.load,
  ];
  const sds: number[] = [PRIOR.speed, PRIOR.speed, PRIOR.product];
  const add = (sd: number, ...features: typeof names) => {
    names.push(...features);
    sds.push(...features.map(() => sd));
  };
  if (presence.air)
    add(
      PRIOR.temperature,
      (d) => d.air,
      (d) => d.air * d.load,
    );
  if (presence.sink)
    add(
      PRIOR.temperature,
      (d) => d.sink,
      (d) => d.sink * d.load,
    );
  if (presence.barometer)
    add(
      PRIOR.pressure,
      (d) => d.barometer,
      (d) => d.barometer * d.load,
    );
  return featureSet({ knots: LOAD_KNOTS, along: (d) => d.load, linear: names, linearSds: sds });
}

/**
 * Features of oil pressure: hat functions over speed (the pump's rise and the relief valve's plateau) and oil temperature
 * alone, squared and with speed, since thin oil matters most at idle.
 */
function buildOil(presence: DriverPresence): FeatureSet {
  const linear: ((d: Required<{ [K in keyof Drivers]: number }>) => number)[] = [];
  if (presence.oil)
    linear.push(
      (d) => d.oil,
      (d) => d.oil * d.oil,
      (d) => d.oil * (d.speed - 0.7),
    );
  return featureSet({ knots: SPEED_KNOTS, along: (d) => d.speed, linear, linearSds: linear.map(() => 0.3) });
}

function featureSet(p: {
  knots: readonly number[];
  along: (d: Required<{ [K in keyof Drivers]: number }>) => number;
  linear: readonly ((d: Required<{ [K in keyof Drivers]: number }>) => number)[];
  linearSds: readonly number[];
}): FeatureSet {
  const hats = p.knots.length;
  const size = hats + p.linear.length;
  const precision = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  const addOuter = (terms: readonly (readonly [number, number])[], weight: number) => {
    for (const [i, a] of terms)
      for (const [j, b] of terms) (precision[i] as number[])[j] = (precision[i]?.[j] ?? 0) + weight * a * b;
  };
  for (let i = 0; i < hats; i += 1) addOuter([[i, 1]], 1 / PRIOR.level ** 2);
  for (let i = 1; i + 1 < hats; i += 1)
    addOuter(
      [
        [i - 1, 1],
        [i, -2],
        [i + 1, 1],
      ],
      1 / PRIOR.curvature ** 2,
    );
  p.linearSds.forEach((sd, i) => {
    addOuter([[hats + i, 1]], 1 / sd ** 2);
  });
  const values = (drivers: Drivers) => {
    const d = drivers as Required<{ [K in keyof Drivers]: number }>;
    const x = p.along(d);
    const out = new Float64Array(size);
    fillHats(out, { knots: p.knots, x });
    for (let i = 0; i < p.linear.length; i += 1) out[hats + i] = (p.linear[i] as (typeof p.linear)[number])(d);
    return out.every(Number.isFinite) ? out : undefined;
  };
  return { values, precision, mean: new Array<number>(size).fill(0) };
}

/** Weights of the two knots around x; beyond the ends the last knot holds all. */
function fillHats(out: Float64Array, p: { knots: readonly number[]; x: number }): void {
  const { knots, x } = p;
  const last = knots.length - 1;
  if (x <= (knots[0] as number)) out[0] = 1;
  else if (x >= (knots[last] as number)) out[last] = 1;
  else {
    let i = 0;
    while ((knots[i + 1] as number) < x) i += 1;
    const share = (x - (knots[i] as number)) / ((knots[i + 1] as number) - (knots[i] as number));
    out[i] = 1 - share;
    out[i + 1] = share;
  }
}
