import type { FaultEffects } from './fault-effects.ts';
import { AIR_GAS_CONSTANT, holeFlow } from './gas.ts';
import { compress, coolCharge, coolerDropKpa, driveTurbine, type Plant, shaftPowerKw } from './gas-path.ts';
import type { Conditions, GasState } from './gas-state.ts';

/** Air the gear-driven blower displaces by piston displacement and revolution, slip taken off. */
const BLOWER_DISPLACEMENT_RATIO = 1.25;
const BLOWER_EFFICIENCY = 0.62;

/**
 * Power balance of a turbocharged two-stroke with a gear-driven blower between compressor and air box. The blower fixes
 * the flow by the density before it; ports fix the air-box pressure by that flow. So boost and flow are not tied by
 * speed and density as in a four-stroke.
 *
 * @param beforeBlowerKpa - The supposed pressure between compressor and blower, kPa absolute.
 */
export function blowerScavengedSurplus(
  plant: Plant,
  c: Conditions,
  f: FaultEffects,
  s: GasState,
  beforeBlowerKpa: number,
): number {
  const { spec } = plant;
  const density = beforeBlowerKpa / (AIR_GAS_CONSTANT * s.compressorOutletK);
  const air =
    (BLOWER_DISPLACEMENT_RATIO * spec.volumetricEfficiency * spec.displacementL * 1e-3 * c.speedRpm * density) / 60;
  const leakAt = { upstreamKpa: s.manifoldKpa, downstreamKpa: c.barometerKpa, temperatureK: s.manifoldK };
  s.cylinderAirKgS = Math.max(air - holeFlow({ diameterMm: f.leakAfterCoolerMm, ...leakAt }), 1e-4);
  const work = compress(plant, c, f, s, air, beforeBlowerKpa);
  s.coolerDropKpa = coolerDropKpa(plant, f, s, air);
  const boxRatio = Math.max((s.manifoldKpa + s.coolerDropKpa) / beforeBlowerKpa, 1);
  const afterBlowerK = s.compressorOutletK * (1 + (boxRatio ** 0.286 - 1) / BLOWER_EFFICIENCY);
  coolCharge(plant, c, f, s, air, afterBlowerK);
  // Ports as an orifice between air box and exhaust: difference of squares, as in a long compressible passage.
  const portAreaM2 = plant.designAirKgS / 21;
  const drive = (s.cylinderAirKgS * Math.sqrt(s.manifoldK / 330)) / portAreaM2;
  s.manifoldKpa = Math.sqrt(s.exhaustKpa * s.exhaustKpa + ((drive / f.volumetricEfficiencyFactor) * 6) ** 2);
  const power = shaftPowerKw(f, driveTurbine(plant, c, f, s, s.manifoldKpa - c.barometerKpa));
  return (power / s.compressorAirKgS - work) / 100;
}
