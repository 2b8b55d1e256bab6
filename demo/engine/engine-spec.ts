/** What one engine of the demo is, before its parts are sized. Figures are invented, of the size of the trade. */
export type EngineSpec = {
  readonly displacementL: number;
  readonly strokes: 4 | 2;
  readonly ratedPowerKw: number;
  readonly ratedSpeedRpm: number;
  readonly idleSpeedRpm: number;
  readonly charging: 'single_stage' | 'two_stage' | 'blower_scavenged';
  readonly boostControl: 'none' | 'wastegate' | 'electronic' | 'variable_geometry';
  readonly cooler: 'air_to_air' | 'engine_jacket_water' | 'separate_circuit' | 'seawater';
  /** Where the turbocharger was matched: with a gate, the lowest speed that still reaches the full boost. */
  readonly design: {
    readonly speedRpm: number;
    readonly fuelKgS: number;
    readonly boostKpa: number;
    /** Cooling medium at the cooler's inlet, °C. */
    readonly sinkTempC: number;
  };
  readonly volumetricEfficiency: number;
  readonly compressorEfficiency: number;
  readonly turbineEfficiency: number;
  readonly coolerEffectiveness: number;
  /** Turbocharger speed at the design point, rpm. */
  readonly designShaftRpm: number;
  /** Share of fuel heat that leaves with the exhaust at the design point. */
  readonly exhaustHeatShare: number;
  readonly filterDropKpa: number;
  readonly coolerDropKpa: number;
  readonly backPressureKpa: number;
  /** Rotor, cooler metal and exhaust manifold lags, s. */
  readonly rotorLagS: number;
  readonly coolerLagS: number;
  readonly manifoldLagS: number;
  /** Sheathed thermocouple in the exhaust, s. */
  readonly thermocoupleLagS: number;
  readonly coolantLagS: number;
  readonly oilPressureKpa: number;
};

const INDICATED_EFFICIENCY = 0.475;
/** Friction and pumping as a mean pressure, kPa: constant part and part at rated speed. */
const FRICTION_KPA = { constant: 90, atRatedSpeed: 110 };
const FUEL_HEATING_VALUE = 42_700;

/** Friction power, kW. */
function frictionPowerKw(spec: EngineSpec, speedRpm: number): number {
  const meanKpa = FRICTION_KPA.constant + FRICTION_KPA.atRatedSpeed * (speedRpm / spec.ratedSpeedRpm) ** 2;
  return (meanKpa * spec.displacementL * 1e-3 * speedRpm) / (30 * spec.strokes);
}

/** Largest brake power at a speed, kW: torque rises to 1.25 times rated torque at 55–65 % of rated speed. */
export function fullLoadPowerKw(spec: EngineSpec, speedRpm: number): number {
  const share = speedRpm / spec.ratedSpeedRpm;
  const torque =
    share < 0.55 ? 0.55 + (0.7 * share) / 0.55 : share < 0.65 ? 1.25 : 1.25 - (0.25 * (share - 0.65)) / 0.35;
  return spec.ratedPowerKw * share * Math.max(torque, 0);
}

/**
 * Fuel that the engine's controller commands, kg/s.
 *
 * @param loadRatio - Share of the largest torque at this speed: 0 turns the crank, below 0 the wheels drive and fuel is cut.
 */
export function commandedFuelKgS(spec: EngineSpec, speedRpm: number, loadRatio: number): number {
  if (speedRpm <= 0 || loadRatio < 0) return 0;
  const power = loadRatio * fullLoadPowerKw(spec, speedRpm) + frictionPowerKw(spec, speedRpm);
  return power / (INDICATED_EFFICIENCY * FUEL_HEATING_VALUE);
}
