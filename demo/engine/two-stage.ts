import type { FaultEffects } from './fault-effects.ts';
import { AIR_GAS_CONSTANT, airHeatCapacity, exhaustHeatCapacity, holeFlow } from './gas.ts';
import {
  compress,
  coolCharge,
  coolerDropKpa,
  cylinderAirKgS,
  type Plant,
  portExhaustK,
  shaftPowerKw,
} from './gas-path.ts';
import type { Conditions, GasState } from './gas-state.ts';
import { expandedShareOf, expansionRatioOf } from './turbine-map.ts';

/** Area of the low-pressure turbine by that of the high-pressure one. */
const LOW_STAGE_AREA_RATIO = 1.75;
/** Share of the total pressure ratio, as an exponent, that the low-pressure compressor makes. */
const LOW_STAGE_EXPONENT = 0.52;
const INTERCOOLER_EFFECTIVENESS = 0.82;

/**
 * Power balance of a two-stage four-stroke with intercooler and aftercooler. The two shafts are balanced together: the
 * low-pressure compressor makes a fixed share of the pressure ratio. Good enough for logs; not for choosing a match.
 */
export function twoStageSurplus(
  plant: Plant,
  c: Conditions,
  f: FaultEffects,
  s: GasState,
  manifoldKpa: number,
): number {
  s.cylinderAirKgS = cylinderAirKgS(plant, c, f, s, manifoldKpa);
  const leak =
    f.leakAfterCoolerMm > 0
      ? holeFlow({
          diameterMm: f.leakAfterCoolerMm,
          upstreamKpa: manifoldKpa,
          downstreamKpa: c.barometerKpa,
          temperatureK: s.manifoldK,
        })
      : 0;
  const air = s.cylinderAirKgS + leak;
  s.compressorOutletKpa = manifoldKpa;
  s.coolerDropKpa = coolerDropKpa(plant, f, s, air);
  const outletKpa = manifoldKpa + s.coolerDropKpa;
  const inletKpa = Math.max(s.compressorInletKpa, 0.5 * c.barometerKpa);
  const betweenKpa = inletKpa * Math.max(outletKpa / inletKpa, 1) ** LOW_STAGE_EXPONENT;
  const lowWork = compress(plant, c, f, s, air, betweenKpa);
  const lowShaftRpm = s.shaftRpm;
  s.interstageK =
    s.compressorOutletK -
    INTERCOOLER_EFFECTIVENESS * f.coolerConductanceFactor ** 0.3 * (s.compressorOutletK - c.sinkK);
  const heatCapacity = airHeatCapacity(s.interstageK + 50);
  const ideal = s.interstageK * (Math.max(outletKpa / betweenKpa, 1) ** (AIR_GAS_CONSTANT / heatCapacity) - 1);
  const rise = ideal / (plant.spec.compressorEfficiency - f.compressorEfficiencyLoss);
  s.compressorOutletKpa = outletKpa;
  s.compressorOutletK = s.interstageK + rise;
  s.shaftRpm = lowShaftRpm;
  const work = lowWork + heatCapacity * rise;
  coolCharge(plant, c, f, s, air, s.compressorOutletK);
  s.manifoldKpa = manifoldKpa;
  return (shaftPowerKw(f, driveTwoTurbines(plant, c, f, s)) / s.compressorAirKgS - work) / 100;
}

/** Two turbines in series, the low-pressure one nearest the silencer; returns the power of both, kW. */
function driveTwoTurbines(plant: Plant, c: Conditions, f: FaultEffects, s: GasState): number {
  const gas = s.cylinderAirKgS + c.fuelKgS;
  s.exhaustK = portExhaustK(plant, c, f, s.cylinderAirKgS, s.manifoldK);
  s.gateShare = f.gateLeakShare;
  const through = gas * (1 - s.gateShare);
  const efficiency = plant.spec.turbineEfficiency * f.turbineEfficiencyFactor;
  const density = c.barometerKpa / (0.287 * Math.max(s.turbineOutletK, 300));
  s.turbineOutletKpa = c.barometerKpa + (plant.backPressureResistance * f.backPressureFactor * gas * gas) / density;
  const highAreaM2 = plant.turbineAreaM2 * f.turbineAreaFactor;
  let betweenK = s.exhaustK * 0.9;
  let high = 0;
  let low = 0;
  for (let pass = 0; pass < 2; pass += 1) {
    low = (through * Math.sqrt(betweenK)) / (highAreaM2 * LOW_STAGE_AREA_RATIO * s.turbineOutletKpa);
    const betweenKpa = s.turbineOutletKpa * expansionRatioOf(low);
    high = (through * Math.sqrt(s.exhaustK)) / (highAreaM2 * betweenKpa);
    s.exhaustKpa = betweenKpa * expansionRatioOf(high);
    betweenK = s.exhaustK * (1 - expandedShareOf(high) * efficiency);
  }
  const lowDropK = betweenK * expandedShareOf(low) * efficiency;
  s.turbineOutletK = betweenK - lowDropK;
  const highDropK = s.exhaustK - betweenK;
  return (
    through * (exhaustHeatCapacity(s.exhaustK - highDropK / 2) * highDropK + exhaustHeatCapacity(betweenK) * lowDropK)
  );
}
