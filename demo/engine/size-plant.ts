import { type CoolerDesign, designTransferUnits } from './cooler.ts';
import type { EngineSpec } from './engine-spec.ts';
import { HEALTHY } from './fault-effects.ts';
import { AIR_GAS_CONSTANT, airHeatCapacity } from './gas.ts';
import type { Plant } from './gas-path.ts';
import { type Conditions, restingGasState } from './gas-state.ts';
import { solveGasPath } from './solve.ts';

const DESIGN_BAROMETER_KPA = 100;
const DESIGN_INLET_K = 298;

/** Conditions of the design point. */
export function designConditions(spec: EngineSpec): Conditions {
  return {
    speedRpm: spec.design.speedRpm,
    fuelKgS: spec.design.fuelKgS,
    fuelRatio: 1,
    barometerKpa: DESIGN_BAROMETER_KPA,
    inletK: DESIGN_INLET_K,
    sinkK: spec.design.sinkTempC + 273.15,
    coolantK: 358,
    mediumFlowRatio: 1,
  };
}

/**
 * Sizes compressor, cooler and turbine of an engine so that it makes its design boost at its design point with the gate
 * shut (vanes at a third): the area of the turbine is found by halving.
 */
export function sizePlant(spec: EngineSpec): Plant {
  const manifoldKpa = DESIGN_BAROMETER_KPA + spec.design.boostKpa;
  const sinkK = spec.design.sinkTempC + 273.15;
  const ratio = (manifoldKpa + spec.coolerDropKpa) / (DESIGN_BAROMETER_KPA - spec.filterDropKpa);
  const stageRatio =
    spec.charging === 'two_stage' ? Math.sqrt(ratio) : spec.charging === 'blower_scavenged' ? ratio * 0.85 : ratio;
  const riseK = (DESIGN_INLET_K * (stageRatio ** 0.285 - 1)) / spec.compressorEfficiency;
  const hotK = DESIGN_INLET_K + riseK;
  const manifoldK = hotK - spec.coolerEffectiveness * (hotK - sinkK);
  const density = manifoldKpa / (AIR_GAS_CONSTANT * manifoldK);
  const strokeVolumes = spec.displacementL * 1e-3 * spec.design.speedRpm;
  const airKgS =
    spec.charging === 'blower_scavenged'
      ? (1.25 * spec.volumetricEfficiency * strokeVolumes * ((0.85 * manifoldKpa) / (AIR_GAS_CONSTANT * hotK))) / 60
      : (spec.volumetricEfficiency * strokeVolumes * density) / 120;
  const cooler: CoolerDesign = {
    effectiveness: spec.coolerEffectiveness,
    airFlowKgS: airKgS,
    capacityRatio: spec.cooler === 'air_to_air' ? 0.35 : 0.22,
    dropKpa: spec.coolerDropKpa,
    densityKgM3: (manifoldKpa + spec.coolerDropKpa) / (AIR_GAS_CONSTANT * (hotK * 0.4 + manifoldK * 0.6)),
  };
  const ambientDensity = DESIGN_BAROMETER_KPA / (AIR_GAS_CONSTANT * DESIGN_INLET_K);
  const gasKgS = airKgS + spec.design.fuelKgS;
  const base = {
    spec,
    compressor: {
      peakEfficiency: spec.compressorEfficiency,
      flowKgS: (airKgS * 100) / (DESIGN_BAROMETER_KPA - spec.filterDropKpa),
      pressureRatio: stageRatio,
      shaftRpm: spec.designShaftRpm,
    },
    designWork: airHeatCapacity(DESIGN_INLET_K + riseK / 2) * riseK,
    cooler,
    coolerTransferUnits: designTransferUnits(cooler),
    designAirKgS: airKgS,
    designAirFuelRatio: airKgS / spec.design.fuelKgS,
    filterResistance: spec.filterDropKpa * ambientDensity,
    backPressureResistance: (spec.backPressureKpa * 0.51) / (gasKgS * gasKgS),
  };
  return { ...base, turbineAreaM2: turbineAreaFor(base) };
}

function turbineAreaFor(base: Omit<Plant, 'turbineAreaM2'>): number {
  const conditions = designConditions(base.spec);
  const asDesigned = { ...HEALTHY, gateOpeningFactor: 0, vaneOpeningMin: 0.33, vaneOpeningMax: 0.33 };
  let small = 1e-4;
  let large = 0.05;
  for (let pass = 0; pass < 40; pass += 1) {
    const area = Math.sqrt(small * large);
    const state = restingGasState(DESIGN_BAROMETER_KPA, DESIGN_INLET_K);
    for (let settle = 0; settle < 6; settle += 1)
      solveGasPath({ ...base, turbineAreaM2: area }, conditions, asDesigned, state);
    if (state.manifoldKpa - DESIGN_BAROMETER_KPA > base.spec.design.boostKpa) small = area;
    else large = area;
  }
  return Math.sqrt(small * large);
}
