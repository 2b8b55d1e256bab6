import type { Drive } from './duty/drive.ts';
import type { Demand } from './engine/engine-model.ts';
import type { RandomSource } from './random.ts';
import type { UnitPlan } from './unit-plan.ts';
import { barometerAtHeightKpa, type Weather } from './weather.ts';

/** What changes slowly about an engine and no sensor tells: it keeps healthy residuals from being pure noise. */
export type SlowInfluences = {
  /** Share of fuel heat that leaves as exhaust (fuel quality) and filling (humidity), about 1, anew each day. */
  heat: number;
  breathing: number;
  /** Air about the cooler against the outside-air sensor, K, and its flow (wind, slipstream), about 1. */
  sinkK: number;
  flow: number;
  seaLevelKpa: number;
};

/** Nothing unusual. */
export function noInfluences(): SlowInfluences {
  return { heat: 1, breathing: 1, sinkK: 0, flow: 1, seaLevelKpa: 101 };
}

/** Draws the influences of a day: fuel quality within ±0.4 %, filling within ±0.25 % (one standard deviation each). */
export function newDay(slow: SlowInfluences, random: RandomSource): void {
  slow.heat = 1 + 0.004 * random.normal();
  slow.breathing = 1 + 0.0025 * random.normal();
}

/** Moves wind, air about the cooler and weather on by some minutes. */
export function moveWeather(p: {
  slow: SlowInfluences;
  demand: Demand;
  weather: Weather;
  timeMs: number;
  random: RandomSource;
}): void {
  const { slow, demand, weather, timeMs, random } = p;
  const memory = 0.6;
  const spread = Math.sqrt(1 - memory * memory);
  slow.sinkK = memory * slow.sinkK + 0.7 * spread * random.normal();
  slow.flow = 1 + memory * (slow.flow - 1) + 0.06 * spread * random.normal();
  slow.seaLevelKpa = weather.seaLevelKpa(timeMs);
  demand.ambientC = weather.ambientC(timeMs);
  demand.seaC = weather.seaC(timeMs);
}

/**
 * Fills in what surrounds the engine at one sample: barometer at this height, air before the filter, cooling medium.
 * A truck at rest breathes and cools itself with air it has warmed; a ship's pump moves water in step with the engine.
 */
export function surround(p: {
  plan: UnitPlan;
  demand: Demand;
  drive: Drive;
  slow: SlowInfluences;
  coolantC: number;
}): void {
  const { plan, demand, drive, slow } = p;
  const load = Math.max(drive.loadRatio, 0);
  demand.speedRpm = drive.speedRpm;
  demand.loadRatio = drive.loadRatio;
  demand.vehicleKmh = drive.vehicleKmh;
  demand.barometerKpa = barometerAtHeightKpa(slow.seaLevelKpa, drive.heightM);
  if (plan.marine) {
    demand.engineRoomC = 0.75 * demand.ambientC + 14 + 5 * load;
    demand.inletC = demand.engineRoomC;
    const lowTemperatureK = plan.spec.cooler === 'separate_circuit' ? 7 + 7 * load : 0;
    const jacket = plan.spec.cooler === 'engine_jacket_water';
    demand.sinkC = jacket ? p.coolantC - 2 : demand.seaC + lowTemperatureK + 0.3 * slow.sinkK;
    const pump = 0.25 + (0.75 * drive.speedRpm) / plan.spec.ratedSpeedRpm;
    demand.mediumFlowRatio = pump * (1 + 0.3 * (slow.flow - 1));
    return;
  }
  const still = 1 - Math.min(drive.vehicleKmh / 85, 1);
  demand.engineRoomC = demand.ambientC;
  demand.inletC = demand.ambientC + 1.5 + 5 * still + 0.4 * slow.sinkK;
  demand.sinkC = demand.ambientC + 1 + 5 * still * (0.4 + load) + 0.6 * slow.sinkK;
  demand.mediumFlowRatio = (1 - 0.5 * still + 0.25 * still * load) * slow.flow;
}

/** An engine at rest in mild weather, to be filled in. */
export function restingDemand(): Demand {
  return {
    speedRpm: 0,
    loadRatio: 0,
    vehicleKmh: 0,
    barometerKpa: 100,
    ambientC: 15,
    inletC: 15,
    sinkC: 15,
    seaC: 12,
    engineRoomC: 25,
    mediumFlowRatio: 1,
  };
}
