import type { EngineSpec } from './engine-spec.ts';
import type { Plant } from './gas-path.ts';
import { type Conditions, type GasState, restingGasState } from './gas-state.ts';
import type { LubricationDesign } from './lubrication.ts';
import { MODEL_SIGNALS } from './outputs.ts';
import { sizePlant } from './size-plant.ts';

/** Everything of a running engine that takes time to follow: pressures in kPa absolute, temperatures in °C. */
export type Lags = {
  manifoldKpa: number;
  manifoldC: number;
  thermocoupleC: number;
  exhaustWallC: number;
  afterTurbineC: number;
  coolantC: number;
  oilC: number;
  turboOilC: number;
  hours: number;
};

/** A running engine: its parts, the steady gas path it tends to, and what lags behind. */
export type EngineState = {
  readonly spec: EngineSpec;
  readonly plant: Plant;
  readonly lubrication: LubricationDesign;
  readonly gas: GasState;
  readonly conditions: Conditions;
  readonly lags: Lags;
  /** True values by place of the signal, canonical units. */
  readonly outputs: Float64Array;
};

/** A cold engine at rest. */
export function coldEngine(spec: EngineSpec, startHours: number): EngineState {
  const coldC = 15;
  return {
    spec,
    plant: sizePlant(spec),
    lubrication: {
      ratedPressureKpa: spec.oilPressureKpa * 1.12,
      reliefPressureKpa: spec.oilPressureKpa,
      ratedSpeedRpm: spec.ratedSpeedRpm,
    },
    gas: restingGasState(),
    conditions: {
      speedRpm: 0,
      fuelKgS: 0,
      fuelRatio: 0,
      barometerKpa: 100,
      inletK: 298,
      sinkK: 298,
      coolantK: 298,
      mediumFlowRatio: 1,
    },
    lags: {
      manifoldKpa: 100,
      manifoldC: coldC,
      thermocoupleC: coldC,
      exhaustWallC: coldC,
      afterTurbineC: coldC,
      coolantC: coldC,
      oilC: coldC,
      turboOilC: coldC,
      hours: startHours,
    },
    outputs: new Float64Array(MODEL_SIGNALS.length),
  };
}

/** Rotor and cooler metal follow the steady gas path. */
export function followGasPath(engine: EngineState, seconds: number, zeroCelsiusK: number): void {
  const { spec, lags, gas } = engine;
  lags.manifoldKpa += (gas.manifoldKpa - lags.manifoldKpa) * followed(seconds, spec.rotorLagS);
  lags.manifoldC += (gas.manifoldK - zeroCelsiusK - lags.manifoldC) * followed(seconds, spec.coolerLagS);
}

/** What heats the engine during one sample. */
export type Heating = {
  readonly seconds: number;
  readonly loadRatio: number;
  readonly speedShare: number;
  readonly ambientC: number;
  readonly exhaustC: number;
  readonly turbineDropK: number;
  /** Extra heat into the turbocharger's oil: rubbing bearings, starved supply. */
  readonly turboHeatK: number;
};

/** Exhaust metal, coolant behind its thermostat, and oil behind the coolant. */
export function warm(engine: EngineState, heating: Heating): void {
  const { spec, lags } = engine;
  const { seconds, loadRatio, speedShare, ambientC, exhaustC, turbineDropK, turboHeatK } = heating;
  lags.thermocoupleC += (exhaustC - lags.thermocoupleC) * followed(seconds, spec.thermocoupleLagS);
  lags.exhaustWallC += (exhaustC - lags.exhaustWallC) * followed(seconds, spec.manifoldLagS);
  const afterTurbineC = Math.max(exhaustC - turbineDropK - 6, ambientC);
  lags.afterTurbineC += (afterTurbineC - lags.afterTurbineC) * followed(seconds, spec.thermocoupleLagS * 2);
  const power = loadRatio * speedShare;
  const coolantGoalC = Math.min(81 + 6 * power + 0.12 * (ambientC - 15), ambientC + 45 + 60 * power + 30 * speedShare);
  lags.coolantC += (coolantGoalC - lags.coolantC) * followed(seconds, spec.coolantLagS / (0.35 + power));
  const oilGoalC = lags.coolantC + 3 + 16 * power * speedShare;
  lags.oilC += (oilGoalC - lags.oilC) * followed(seconds, spec.coolantLagS * 0.8);
  lags.turboOilC += (lags.oilC + 8 + 26 * power + turboHeatK - lags.turboOilC) * followed(seconds, 60);
}

/** Share of the way to its aim that a first-order lag covers. */
function followed(seconds: number, lagS: number): number {
  return 1 - Math.exp(-seconds / lagS);
}

/** Everything cools towards the air about it while the engine stands. */
export function coolDown(lags: Lags, ambientC: number, seconds: number): void {
  const cool = (value: number, lagS: number) => ambientC + (value - ambientC) * Math.exp(-seconds / lagS);
  lags.coolantC = cool(lags.coolantC, 9000);
  lags.oilC = cool(lags.oilC, 8000);
  lags.turboOilC = cool(lags.turboOilC, 4000);
  lags.manifoldC = cool(lags.manifoldC, 3000);
  lags.thermocoupleC = cool(lags.thermocoupleC, 1500);
  lags.exhaustWallC = cool(lags.exhaustWallC, 2500);
  lags.afterTurbineC = cool(lags.afterTurbineC, 2000);
}
