import { commandedFuelKgS, type EngineSpec, fullLoadPowerKw } from './engine-spec.ts';
import type { FaultEffects } from './fault-effects.ts';
import { FUEL_DENSITY_KG_PER_L } from './gas.ts';
import { type Plant, portExhaustK } from './gas-path.ts';
import { type Conditions, restingGasState } from './gas-state.ts';
import { galleryPressureKpa, type LubricationDesign } from './lubrication.ts';
import { MODEL_SIGNALS, PLACE } from './outputs.ts';
import { sizePlant } from './size-plant.ts';
import { solveGasPath } from './solve.ts';

const ZERO_CELSIUS_K = 273.15;

/** What the duty and the weather ask of the engine at one instant. One object, refilled for each sample. */
export type Demand = {
  speedRpm: number;
  /** Share of the largest torque at this speed; below 0 the fuel is cut. */
  loadRatio: number;
  vehicleKmh: number;
  barometerKpa: number;
  ambientC: number;
  /** Air before the filter, °C. */
  inletC: number;
  /** Cooling medium of the charge-air cooler, °C. */
  sinkC: number;
  seaC: number;
  engineRoomC: number;
  mediumFlowRatio: number;
};

/** An engine that runs: `step` moves it on and fills `outputs` (canonical units, no sensor errors yet). */
export type EngineModel = {
  readonly plant: Plant;
  readonly outputs: Float64Array;
  readonly step: (demand: Demand, effects: FaultEffects, seconds: number) => void;
  /** Cools down for a pause with the engine stopped. */
  readonly rest: (ambientC: number, seconds: number) => void;
};

type Lags = {
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

/**
 * Creates a running engine. The gas path is solved as steady at each sample and then followed with lags (rotor, cooler
 * metal, thermocouple sheath, exhaust manifold, coolant, oil): samples are 10 s or more apart, longer than the rotor's
 * swing. Exhaust temperature is worked out again from the lagging air, so it overshoots when load is put on.
 */
export function createEngine(spec: EngineSpec, startHours: number): EngineModel {
  const plant = sizePlant(spec);
  const gas = restingGasState();
  const outputs = new Float64Array(MODEL_SIGNALS.length);
  const lubrication: LubricationDesign = {
    ratedPressureKpa: spec.oilPressureKpa * 1.12,
    reliefPressureKpa: spec.oilPressureKpa,
    ratedSpeedRpm: spec.ratedSpeedRpm,
  };
  const conditions: Conditions = {
    speedRpm: 0,
    fuelKgS: 0,
    fuelRatio: 0,
    barometerKpa: 100,
    inletK: 298,
    sinkK: 298,
    coolantK: 298,
    mediumFlowRatio: 1,
  };
  const lags: Lags = {
    manifoldKpa: 100,
    manifoldC: 15,
    thermocoupleC: 15,
    exhaustWallC: 15,
    afterTurbineC: 15,
    coolantC: 15,
    oilC: 15,
    turboOilC: 15,
    hours: startHours,
  };

  const step = (demand: Demand, effects: FaultEffects, seconds: number): void => {
    const commanded = commandedFuelKgS(spec, demand.speedRpm, demand.loadRatio);
    const running = demand.speedRpm > 50;
    conditions.speedRpm = demand.speedRpm;
    conditions.fuelKgS = commanded * effects.fuelDeliveryFactor;
    conditions.fuelRatio = commanded / spec.design.fuelKgS;
    conditions.barometerKpa = demand.barometerKpa;
    conditions.inletK = demand.inletC + ZERO_CELSIUS_K;
    conditions.sinkK = demand.sinkC + ZERO_CELSIUS_K;
    conditions.coolantK = lags.coolantC + ZERO_CELSIUS_K;
    conditions.mediumFlowRatio = demand.mediumFlowRatio;
    if (running) {
      solveGasPath(plant, conditions, effects, gas);
      lags.hours += seconds / 3600;
      follow(spec, lags, { seconds, manifoldKpa: gas.manifoldKpa, manifoldC: gas.manifoldK - ZERO_CELSIUS_K });
      const air =
        (gas.cylinderAirKgS * lags.manifoldKpa * gas.manifoldK) / (gas.manifoldKpa * (lags.manifoldC + ZERO_CELSIUS_K));
      const portK = portExhaustK(plant, conditions, effects, air, lags.manifoldC + ZERO_CELSIUS_K);
      warm(spec, lags, {
        seconds,
        loadRatio: Math.max(demand.loadRatio, 0),
        speedShare: demand.speedRpm / spec.ratedSpeedRpm,
        ambientC: demand.ambientC,
        exhaustC: portK - ZERO_CELSIUS_K,
        turbineDropK: gas.exhaustK - gas.turbineOutletK,
        turboHeatK: 18 * effects.bearingLossShare * 10 + 8 / effects.oilSupplyFactor - 8,
      });
    } else {
      rest(demand.ambientC, seconds);
      lags.manifoldKpa = demand.barometerKpa;
    }
    fillAir(demand);
    fillOil(demand, effects, running);
    outputs[PLACE.fuelRate] = (commanded * 3600) / FUEL_DENSITY_KG_PER_L;
    const load = Math.max(demand.loadRatio, 0);
    outputs[PLACE.engineLoad] = running ? load * 100 : 0;
    outputs[PLACE.actualTorque] = running
      ? (100 * load * fullLoadPowerKw(spec, demand.speedRpm) * spec.ratedSpeedRpm) /
        (1.25 * spec.ratedPowerKw * demand.speedRpm)
      : 0;
  };

  const fillAir = (demand: Demand): void => {
    const running = demand.speedRpm > 50;
    outputs[PLACE.engineSpeed] = demand.speedRpm;
    outputs[PLACE.vehicleSpeed] = demand.vehicleKmh;
    outputs[PLACE.boostPressure] = lags.manifoldKpa - demand.barometerKpa;
    outputs[PLACE.intakeManifoldTemperature] = lags.manifoldC;
    outputs[PLACE.compressorInletTemperature] = demand.inletC;
    outputs[PLACE.compressorInletPressure] = running ? gas.compressorInletKpa : demand.barometerKpa;
    outputs[PLACE.compressorOutletTemperature] = running ? gas.compressorOutletK - ZERO_CELSIUS_K : demand.inletC;
    outputs[PLACE.chargeAirCoolerDifferentialPressure] = running ? gas.coolerDropKpa : 0;
    outputs[PLACE.airFilterDifferentialPressure] = running ? gas.filterDropKpa : 0;
    outputs[PLACE.exhaustTemperature] = 0.8 * lags.thermocoupleC + 0.2 * lags.exhaustWallC;
    outputs[PLACE.turbineInletPressure] = running ? gas.exhaustKpa - demand.barometerKpa : 0;
    outputs[PLACE.turbineOutletTemperature] = lags.afterTurbineC;
    outputs[PLACE.turbochargerSpeed] = running ? gas.shaftRpm : 0;
    outputs[PLACE.vgtPosition] = 100 * (1 - gas.vaneOpening);
    outputs[PLACE.coolerWaterInletTemperature] = demand.sinkC;
    outputs[PLACE.coolerWaterOutletTemperature] = running ? gas.mediumOutletK - ZERO_CELSIUS_K : demand.sinkC;
    outputs[PLACE.barometricPressure] = demand.barometerKpa;
    outputs[PLACE.ambientAirTemperature] = demand.ambientC;
    outputs[PLACE.intakeAirTemperature] = demand.inletC;
    outputs[PLACE.seaWaterTemperature] = demand.seaC;
    outputs[PLACE.engineRoomTemperature] = demand.engineRoomC;
  };

  const fillOil = (demand: Demand, effects: FaultEffects, running: boolean): void => {
    const gallery = running
      ? galleryPressureKpa(lubrication, {
          speedRpm: demand.speedRpm,
          oilTemperatureC: lags.oilC,
          pumpFactor: effects.oilPumpFactor,
          clearanceFactor: effects.oilClearanceFactor,
        })
      : 0;
    outputs[PLACE.oilPressure] = gallery;
    outputs[PLACE.turbochargerOilPressure] = gallery * 0.86 * effects.oilSupplyFactor;
    outputs[PLACE.oilTemperature] = lags.oilC;
    outputs[PLACE.turbochargerOilTemperature] = lags.turboOilC;
    outputs[PLACE.coolantTemperature] = lags.coolantC;
    outputs[PLACE.engineHours] = lags.hours;
  };

  const rest = (ambientC: number, seconds: number): void => {
    const cool = (value: number, lagS: number) => ambientC + (value - ambientC) * Math.exp(-seconds / lagS);
    lags.coolantC = cool(lags.coolantC, 9000);
    lags.oilC = cool(lags.oilC, 8000);
    lags.turboOilC = cool(lags.turboOilC, 4000);
    lags.manifoldC = cool(lags.manifoldC, 3000);
    lags.thermocoupleC = cool(lags.thermocoupleC, 1500);
    lags.exhaustWallC = cool(lags.exhaustWallC, 2500);
    lags.afterTurbineC = cool(lags.afterTurbineC, 2000);
  };

  return { plant, outputs, step, rest };
}

/** Rotor and cooler metal. */
function follow(spec: EngineSpec, lags: Lags, p: { seconds: number; manifoldKpa: number; manifoldC: number }): void {
  lags.manifoldKpa += (p.manifoldKpa - lags.manifoldKpa) * (1 - Math.exp(-p.seconds / spec.rotorLagS));
  lags.manifoldC += (p.manifoldC - lags.manifoldC) * (1 - Math.exp(-p.seconds / spec.coolerLagS));
}

/** Exhaust metal, coolant behind its thermostat, and oil behind the coolant. */
function warm(
  spec: EngineSpec,
  lags: Lags,
  p: {
    seconds: number;
    loadRatio: number;
    speedShare: number;
    ambientC: number;
    exhaustC: number;
    turbineDropK: number;
    turboHeatK: number;
  },
): void {
  const share = (lagS: number) => 1 - Math.exp(-p.seconds / lagS);
  lags.thermocoupleC += (p.exhaustC - lags.thermocoupleC) * share(spec.thermocoupleLagS);
  lags.exhaustWallC += (p.exhaustC - lags.exhaustWallC) * share(spec.manifoldLagS);
  lags.afterTurbineC +=
    (Math.max(p.exhaustC - p.turbineDropK - 6, p.ambientC) - lags.afterTurbineC) * share(spec.thermocoupleLagS * 2);
  const power = p.loadRatio * p.speedShare;
  const coolantGoalC = Math.min(
    81 + 6 * power + 0.12 * (p.ambientC - 15),
    p.ambientC + 45 + 60 * power + 30 * p.speedShare,
  );
  lags.coolantC += (coolantGoalC - lags.coolantC) * share(spec.coolantLagS / (0.35 + power));
  const oilGoalC = lags.coolantC + 3 + 16 * power * p.speedShare;
  lags.oilC += (oilGoalC - lags.oilC) * share(spec.coolantLagS * 0.8);
  const turboGoalC = lags.oilC + 8 + 26 * power + p.turboHeatK;
  lags.turboOilC += (turboGoalC - lags.turboOilC) * share(60);
}
