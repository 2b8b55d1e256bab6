import { commandedFuelKgS, type EngineSpec } from './engine/engine-spec.ts';

type Rating = Pick<EngineSpec, 'displacementL' | 'ratedPowerKw' | 'ratedSpeedRpm' | 'idleSpeedRpm'> &
  Partial<Omit<EngineSpec, 'design'>> & {
    readonly designSpeedRpm: number;
    readonly designBoostKpa: number;
    readonly designSinkC: number;
  };

/** A road engine of the size of the trade: air-to-air cooler, light rotor. Invented; no maker's figures. */
export function roadEngine(rating: Rating): EngineSpec {
  return engineOf(rating, {
    cooler: 'air_to_air',
    coolerEffectiveness: 0.83,
    exhaustHeatShare: 0.37,
    rotorLagS: 1.6,
    coolerLagS: 18,
    manifoldLagS: 150,
    thermocoupleLagS: 5,
    coolantLagS: 260,
    oilPressureKpa: 420,
  });
}

/** A ship's engine: water-cooled charge air, heavier rotor and metal. */
export function marineEngine(rating: Rating): EngineSpec {
  return engineOf(rating, {
    cooler: 'seawater',
    coolerEffectiveness: 0.9,
    exhaustHeatShare: 0.36,
    rotorLagS: 5,
    coolerLagS: 35,
    manifoldLagS: 240,
    thermocoupleLagS: 8,
    coolantLagS: 420,
    oilPressureKpa: 450,
  });
}

type Defaults = Pick<
  EngineSpec,
  | 'cooler'
  | 'coolerEffectiveness'
  | 'exhaustHeatShare'
  | 'rotorLagS'
  | 'coolerLagS'
  | 'manifoldLagS'
  | 'thermocoupleLagS'
  | 'coolantLagS'
  | 'oilPressureKpa'
>;

function engineOf(rating: Rating, defaults: Defaults): EngineSpec {
  const { designSpeedRpm, designBoostKpa, designSinkC, ...given } = rating;
  const design = { speedRpm: designSpeedRpm, fuelKgS: 0, boostKpa: designBoostKpa, sinkTempC: designSinkC };
  const spec: EngineSpec = {
    strokes: 4,
    charging: 'single_stage',
    boostControl: 'none',
    volumetricEfficiency: 0.92,
    compressorEfficiency: 0.76,
    turbineEfficiency: 0.72,
    designShaftRpm: 88_000,
    filterDropKpa: 2.8,
    coolerDropKpa: 8,
    backPressureKpa: 5,
    ...defaults,
    ...given,
    design,
  };
  return { ...spec, design: { ...design, fuelKgS: commandedFuelKgS(spec, designSpeedRpm, 1) } };
}
