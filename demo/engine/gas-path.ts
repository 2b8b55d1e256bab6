import { type CompressorDesign, compressorEfficiency, compressorShaftRpm } from './compressor-map.ts';
import { type CoolerDesign, coolerEffectiveness } from './cooler.ts';
import type { EngineSpec } from './engine-spec.ts';
import type { FaultEffects } from './fault-effects.ts';
import {
  AIR_GAS_CONSTANT,
  airHeatCapacity,
  exhaustEnthalpy,
  exhaustHeatCapacity,
  exhaustTemperatureK,
  FUEL_HEATING_VALUE,
  holeFlow,
} from './gas.ts';
import type { Conditions, GasState } from './gas-state.ts';
import { expandedShareOf, expansionRatioOf } from './turbine-map.ts';

/** An engine with its parts sized. */
export type Plant = {
  readonly spec: EngineSpec;
  readonly compressor: CompressorDesign;
  readonly designWork: number;
  readonly cooler: CoolerDesign;
  readonly coolerTransferUnits: number;
  readonly designAirKgS: number;
  readonly designAirFuelRatio: number;
  readonly turbineAreaM2: number;
  /** Filter drop at design flow, times density, kPa·kg/m³. */
  readonly filterResistance: number;
  /** Back pressure by flow² and inverse density: kPa·kg/m³/(kg/s)². */
  readonly backPressureResistance: number;
};

/** Share of the shaft power that bearings take on a healthy turbocharger. */
const MECHANICAL_EFFICIENCY = 0.965;
/** Heat that the manifold walls give to the charge air, as a share of the span to the coolant. */
const MANIFOLD_PICK_UP = 0.02;

/** Air drawn by the cylinders of a four-stroke, kg/s. Hot charge heats less on its way in; high exhaust pressure keeps residuals. */
export function cylinderAirKgS(plant: Plant, c: Conditions, f: FaultEffects, s: GasState, manifoldKpa: number): number {
  const { spec } = plant;
  const offSpeed = c.speedRpm / spec.design.speedRpm - 1;
  const efficiency =
    spec.volumetricEfficiency *
    f.volumetricEfficiencyFactor *
    (1 - 0.07 * offSpeed * offSpeed) *
    (1 + 0.25 * (s.manifoldK / 325 - 1)) *
    (1 - 0.03 * (s.exhaustKpa / manifoldKpa - 1));
  return (efficiency * manifoldKpa * spec.displacementL * 1e-3 * c.speedRpm) / (AIR_GAS_CONSTANT * s.manifoldK * 120);
}

/** Passes air through filter and compressor up to `outletKpa`; fills the state and returns the shaft work, kJ/kg. */
export function compress(
  plant: Plant,
  c: Conditions,
  f: FaultEffects,
  s: GasState,
  airKgS: number,
  outletKpa: number,
): number {
  const density = c.barometerKpa / (AIR_GAS_CONSTANT * c.inletK);
  // Paper lets air through partly as a laminar seep (linear) and partly as jets (square): Darcy and Forchheimer's law.
  const flowRatio = airKgS / plant.designAirKgS;
  s.filterDropKpa = (plant.filterResistance * f.filterFactor * flowRatio * (0.25 + 0.75 * flowRatio)) / density;
  s.compressorInletKpa = c.barometerKpa - s.filterDropKpa;
  s.compressorOutletKpa = outletKpa;
  s.compressorAirKgS = airKgS;
  const ratio = Math.max(outletKpa / s.compressorInletKpa, 1);
  const corrected = (airKgS * Math.sqrt(c.inletK / 298) * 100) / s.compressorInletKpa;
  const efficiency = compressorEfficiency(plant.compressor, corrected, ratio) - f.compressorEfficiencyLoss;
  const heatCapacity = airHeatCapacity((c.inletK + s.compressorOutletK) / 2);
  const ideal = c.inletK * (Math.exp((AIR_GAS_CONSTANT / heatCapacity) * Math.log(ratio)) - 1);
  const rise = ideal / efficiency;
  s.compressorOutletK = c.inletK + rise;
  const work = heatCapacity * rise;
  s.shaftRpm = compressorShaftRpm(plant.compressor, work / plant.designWork, corrected / plant.compressor.flowKgS);
  return work;
}

/** Cools the charge; fills manifold temperature, effectiveness and the medium's outlet temperature. */
export function coolCharge(
  plant: Plant,
  c: Conditions,
  f: FaultEffects,
  s: GasState,
  airKgS: number,
  hotK: number,
): void {
  const flowRatio = Math.max(airKgS / plant.cooler.airFlowKgS, 0.02);
  const mediumFlowFactor = c.mediumFlowRatio * f.mediumFlowFactor;
  s.effectiveness = coolerEffectiveness({
    transferUnits: plant.coolerTransferUnits,
    capacityRatio: plant.cooler.capacityRatio,
    flowRatio,
    conductanceFactor: f.coolerConductanceFactor,
    mediumFlowFactor,
  });
  const outletK = hotK - s.effectiveness * (hotK - c.sinkK);
  s.manifoldK = outletK + MANIFOLD_PICK_UP * (c.coolantK - outletK);
  s.mediumOutletK = c.sinkK + ((plant.cooler.capacityRatio * flowRatio) / mediumFlowFactor) * (hotK - outletK);
}

/** Air-side drop of the cooler, kPa: a linear and a square part, as in narrow passages between laminar and turbulent. */
export function coolerDropKpa(plant: Plant, f: FaultEffects, s: GasState, airKgS: number): number {
  const { cooler } = plant;
  const density = s.compressorOutletKpa / (AIR_GAS_CONSTANT * (s.compressorOutletK * 0.4 + s.manifoldK * 0.6));
  const flowRatio = airKgS / cooler.airFlowKgS;
  return cooler.dropKpa * f.coolerDropFactor * flowRatio * (0.15 + 0.85 * flowRatio) * (cooler.densityKgM3 / density);
}

/** Exhaust temperature at the ports, K: an enthalpy balance; a rich or slow engine sends a larger share of heat out. */
export function portExhaustK(plant: Plant, c: Conditions, f: FaultEffects, airKgS: number, manifoldK: number): number {
  const { spec } = plant;
  const gas = airKgS + c.fuelKgS;
  if (gas <= 0) return manifoldK;
  const richness = (c.fuelKgS * plant.designAirFuelRatio) / Math.max(airKgS, 1e-6) - 1;
  const slowness = 1 - c.speedRpm / spec.design.speedRpm;
  const share = spec.exhaustHeatShare * f.exhaustHeatFactor * (1 + 0.04 * richness - 0.05 * slowness);
  const charge = exhaustEnthalpy(manifoldK + 0.05 * (c.coolantK - manifoldK));
  return exhaustTemperatureK(charge + (share * c.fuelKgS * FUEL_HEATING_VALUE) / gas);
}

/** Boost the control aims at, kPa gauge; less in thin air, where the rotor would overspeed. */
function boostTargetKpa(plant: Plant, c: Conditions, f: FaultEffects): number {
  const { spec } = plant;
  const altitude = 0.55 + 0.45 * Math.min(c.barometerKpa / 98, 1);
  const share = spec.boostControl === 'variable_geometry' ? Math.min(0.04 + 0.96 * c.fuelRatio, 1.08) : 1;
  return spec.design.boostKpa * share * altitude + f.boostTargetRaiseKpa;
}

/**
 * Command by boost error over a few kilopascals, smooth at its stops. It stands for an integrating controller, which
 * leaves no error at all but remembers.
 */
function softSign(error: number): number {
  return error / Math.sqrt(1 + error * error);
}

/** Sets gate and vanes for a boost, then drives the turbine; fills exhaust state and returns its power, kW. */
export function driveTurbine(plant: Plant, c: Conditions, f: FaultEffects, s: GasState, boostKpa: number): number {
  const { spec } = plant;
  const over = boostKpa - boostTargetKpa(plant, c, f);
  let area = plant.turbineAreaM2 * f.turbineAreaFactor;
  let gate = 0;
  if (spec.boostControl === 'variable_geometry') {
    const wanted = 0.5 + 0.5 * softSign(over / 6);
    s.vaneOpening = Math.min(Math.max(wanted, f.vaneOpeningMin), f.vaneOpeningMax);
    area *= 0.62 + 1.1 * s.vaneOpening;
  } else if (spec.boostControl === 'wastegate') gate = Math.min(Math.max((over + 12) / 60, 0), 0.5);
  else if (spec.boostControl === 'electronic') gate = 0.25 * (1 + softSign((over - 4) / 5));
  s.gateShare = Math.max(gate * f.gateOpeningFactor, f.gateLeakShare);

  const gas = s.cylinderAirKgS + c.fuelKgS;
  s.exhaustK = portExhaustK(plant, c, f, s.cylinderAirKgS, s.manifoldK);
  const leak = holeFlow({
    diameterMm: f.exhaustLeakMm,
    upstreamKpa: s.exhaustKpa,
    downstreamKpa: c.barometerKpa,
    temperatureK: s.exhaustK,
  });
  const through = Math.max(gas - leak, 0) * (1 - s.gateShare);
  const density = c.barometerKpa / (0.287 * Math.max(s.turbineOutletK, 300));
  s.turbineOutletKpa = c.barometerKpa + (plant.backPressureResistance * f.backPressureFactor * gas * gas) / density;
  const reduced = (through * Math.sqrt(s.exhaustK)) / (area * s.turbineOutletKpa);
  const ratio = expansionRatioOf(reduced);
  s.exhaustKpa = s.turbineOutletKpa * ratio;
  const offPeak = ratio - 2.2;
  const efficiency = spec.turbineEfficiency * f.turbineEfficiencyFactor * Math.max(1 - 0.025 * offPeak * offPeak, 0.6);
  const drop = s.exhaustK * expandedShareOf(reduced) * efficiency;
  s.turbineOutletK = s.exhaustK - drop * (1 - s.gateShare);
  return through * exhaustHeatCapacity(s.exhaustK - drop / 2) * drop;
}

/** Turbine power that reaches the compressor, kW. */
export function shaftPowerKw(f: FaultEffects, turbinePowerKw: number): number {
  return turbinePowerKw * MECHANICAL_EFFICIENCY * (1 - f.bearingLossShare);
}
