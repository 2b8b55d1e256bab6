import { commandedFuelKgS, type EngineSpec, fullLoadPowerKw } from './engine-spec.ts';
import { coldEngine, coolDown, type EngineState, followGasPath, warm } from './engine-state.ts';
import type { FaultEffects } from './fault-effects.ts';
import { FUEL_DENSITY_KG_PER_L } from './gas.ts';
import { portExhaustK } from './gas-path.ts';
import { galleryPressureKpa } from './lubrication.ts';
import { PLACE } from './outputs.ts';
import { solveGasPath } from './solve.ts';

const ZERO_CELSIUS_K = 273.15;
/** Below this speed the engine stands or is being started. */
const RUNNING_RPM = 50;

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
  readonly outputs: Float64Array;
  readonly step: (demand: Demand, effects: FaultEffects, seconds: number) => void;
  /** Cools down for a pause with the engine stopped. */
  readonly rest: (ambientC: number, seconds: number) => void;
};

/**
 * Creates a running engine, cold. The gas path is solved as steady at each sample and then followed with lags (rotor,
 * cooler metal, thermocouple sheath, exhaust manifold, coolant, oil): samples are 10 s or more apart, longer than the
 * rotor's swing. Exhaust temperature is worked out again from the lagging air, so it overshoots when load is put on.
 */
export function createEngine(spec: EngineSpec, startHours: number): EngineModel {
  const engine = coldEngine(spec, startHours);
  return {
    outputs: engine.outputs,
    step: (demand, effects, seconds) => {
      const running = demand.speedRpm > RUNNING_RPM;
      const commanded = commandedFuelKgS(spec, demand.speedRpm, demand.loadRatio);
      setConditions(engine, demand, effects, commanded);
      if (running) run(engine, demand, effects, seconds);
      else {
        coolDown(engine.lags, demand.ambientC, seconds);
        engine.lags.manifoldKpa = demand.barometerKpa;
      }
      showAir(engine, demand, running);
      showOil(engine, demand, effects, running);
      showWork(engine, demand, commanded, running);
    },
    rest: (ambientC, seconds) => coolDown(engine.lags, ambientC, seconds),
  };
}

function setConditions(engine: EngineState, demand: Demand, effects: FaultEffects, commandedKgS: number): void {
  const { conditions, spec, lags } = engine;
  conditions.speedRpm = demand.speedRpm;
  conditions.fuelKgS = commandedKgS * effects.fuelDeliveryFactor;
  conditions.fuelRatio = commandedKgS / spec.design.fuelKgS;
  conditions.barometerKpa = demand.barometerKpa;
  conditions.inletK = demand.inletC + ZERO_CELSIUS_K;
  conditions.sinkK = demand.sinkC + ZERO_CELSIUS_K;
  conditions.coolantK = lags.coolantC + ZERO_CELSIUS_K;
  conditions.mediumFlowRatio = demand.mediumFlowRatio;
}

function run(engine: EngineState, demand: Demand, effects: FaultEffects, seconds: number): void {
  const { spec, plant, gas, lags, conditions } = engine;
  solveGasPath(plant, conditions, effects, gas);
  lags.hours += seconds / 3600;
  followGasPath(engine, seconds, ZERO_CELSIUS_K);
  const chargeK = lags.manifoldC + ZERO_CELSIUS_K;
  const airKgS = (gas.cylinderAirKgS * lags.manifoldKpa * gas.manifoldK) / (gas.manifoldKpa * chargeK);
  const portK = portExhaustK(plant, conditions, effects, airKgS, chargeK);
  warm(engine, {
    seconds,
    loadRatio: Math.max(demand.loadRatio, 0),
    speedShare: demand.speedRpm / spec.ratedSpeedRpm,
    ambientC: demand.ambientC,
    exhaustC: portK - ZERO_CELSIUS_K,
    turbineDropK: gas.exhaustK - gas.turbineOutletK,
    turboHeatK: 180 * effects.bearingLossShare + 8 * (1 / effects.oilSupplyFactor - 1),
  });
}

function showAir(engine: EngineState, demand: Demand, running: boolean): void {
  const { outputs, gas, lags } = engine;
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
}

function showOil(engine: EngineState, demand: Demand, effects: FaultEffects, running: boolean): void {
  const { outputs, lags } = engine;
  const galleryKpa = running
    ? galleryPressureKpa(engine.lubrication, {
        speedRpm: demand.speedRpm,
        oilTemperatureC: lags.oilC,
        pumpFactor: effects.oilPumpFactor,
        clearanceFactor: effects.oilClearanceFactor,
      })
    : 0;
  outputs[PLACE.oilPressure] = galleryKpa;
  outputs[PLACE.turbochargerOilPressure] = galleryKpa * 0.86 * effects.oilSupplyFactor;
  outputs[PLACE.oilTemperature] = lags.oilC;
  outputs[PLACE.turbochargerOilTemperature] = lags.turboOilC;
  outputs[PLACE.coolantTemperature] = lags.coolantC;
}

function showWork(engine: EngineState, demand: Demand, commandedKgS: number, running: boolean): void {
  const { outputs, spec, lags } = engine;
  const load = running ? Math.max(demand.loadRatio, 0) : 0;
  const torqueShare =
    demand.speedRpm > 0
      ? (fullLoadPowerKw(spec, demand.speedRpm) * spec.ratedSpeedRpm) / (1.25 * spec.ratedPowerKw * demand.speedRpm)
      : 0;
  outputs[PLACE.engineSpeed] = demand.speedRpm;
  outputs[PLACE.vehicleSpeed] = demand.vehicleKmh;
  outputs[PLACE.engineLoad] = load * 100;
  outputs[PLACE.actualTorque] = load * torqueShare * 100;
  outputs[PLACE.fuelRate] = (commandedKgS * 3600) / FUEL_DENSITY_KG_PER_L;
  outputs[PLACE.engineHours] = lags.hours;
}
