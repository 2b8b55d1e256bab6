import type { FaultEffects } from './fault-effects.ts';
import { holeFlow } from './gas.ts';
import {
  compress,
  coolCharge,
  coolerDropKpa,
  cylinderAirKgS,
  driveTurbine,
  type Plant,
  shaftPowerKw,
} from './gas-path.ts';
import type { Conditions, GasState } from './gas-state.ts';

/**
 * Shaft power balance of a single-stage four-stroke at a supposed manifold pressure: surplus of turbine over compressor
 * power, per compressor flow and 100 kJ/kg. Falls as the supposed pressure rises; zero at the running point.
 */
export function singleStageSurplus(
  plant: Plant,
  c: Conditions,
  f: FaultEffects,
  s: GasState,
  manifoldKpa: number,
): number {
  s.cylinderAirKgS = cylinderAirKgS(plant, c, f, s, manifoldKpa);
  const downstreamKpa = c.barometerKpa;
  const afterCooler =
    f.leakAfterCoolerMm > 0
      ? holeFlow({
          diameterMm: f.leakAfterCoolerMm,
          upstreamKpa: manifoldKpa,
          downstreamKpa,
          temperatureK: s.manifoldK,
        })
      : 0;
  const cooled = s.cylinderAirKgS + afterCooler;
  s.coolerDropKpa = coolerDropKpa(plant, f, s, cooled);
  const outletKpa = manifoldKpa + s.coolerDropKpa;
  const beforeCooler =
    f.leakBeforeCoolerMm > 0
      ? holeFlow({
          diameterMm: f.leakBeforeCoolerMm,
          upstreamKpa: outletKpa,
          downstreamKpa,
          temperatureK: s.compressorOutletK,
        })
      : 0;
  const work = compress(plant, c, f, s, cooled + beforeCooler, outletKpa);
  coolCharge(plant, c, f, s, cooled, s.compressorOutletK);
  s.manifoldKpa = manifoldKpa;
  const power = shaftPowerKw(f, driveTurbine(plant, c, f, s, manifoldKpa - c.barometerKpa));
  return (power / s.compressorAirKgS - work) / 100;
}
