import { createDriver, type Drive } from './duty/drive.ts';
import { createEngine, type Demand, type EngineModel } from './engine/engine-model.ts';
import { type FaultEffects, HEALTHY } from './engine/fault-effects.ts';
import { PLACE } from './engine/outputs.ts';
import { applyFaults } from './fault-plan.ts';
import { createRandom, type RandomSource, seedOf } from './random.ts';
import { createSensors, type SensorSet } from './sensors.ts';
import type { UnitPlan } from './unit-plan.ts';
import { barometerAtHeightKpa, createWeather, type Weather } from './weather.ts';

const DAY_MS = 86_400_000;
/** How often fault sizes and slow influences are brought up to date, s. */
const SLOW_STEP_S = 300;

/** The samples of one unit and day, in columns in the order of the unit's sensors; NaN where not available. */
export type UnitDay = {
  readonly day: number;
  readonly count: number;
  readonly timesMs: Float64Array;
  readonly columns: readonly Float64Array[];
};

/**
 * Simulates one unit day by day. Memory holds one day; the arrays of a day are used again for the next, so a consumer
 * that keeps them must copy.
 *
 * @param p.startMs - Midnight UTC at which day 0 begins.
 * @param p.days - How many days.
 */
export function* simulateUnit(plan: UnitPlan, p: { startMs: number; days: number; seed: number }): Generator<UnitDay> {
  const engine = createEngine(plan.spec, plan.startHours);
  const weather = createWeather(plan.climate, p.seed);
  const sensors = createSensors(plan.sensors, plan.faults, plan.id, p.seed);
  const capacity = Math.ceil(DAY_MS / 1000 / plan.sampleS);
  const timesMs = new Float64Array(capacity);
  const columns = plan.sensors.map(() => new Float64Array(capacity));
  const run = createRun(plan, engine, weather, sensors, timesMs, columns);
  for (let day = 0; day < p.days; day += 1) {
    const dayStartMs = p.startMs + day * DAY_MS;
    // The engines of one vessel share the hand on the throttle, but neither sensors nor fuel.
    const hand = createRandom(seedOf(plan.crew ?? plan.id, p.seed, day));
    const chance = createRandom(seedOf(`${plan.id}/engine`, p.seed, day));
    sensors.startDay(day, chance, dayStartMs);
    yield { day, count: run({ day, dayStartMs, hand, chance }), timesMs, columns };
  }
}

type RunningDay = {
  readonly day: number;
  readonly dayStartMs: number;
  /** Chance of the work: when it goes out, what the driver asks. */
  readonly hand: RandomSource;
  /** Chance of engine and sensors. */
  readonly chance: RandomSource;
};

function createRun(
  plan: UnitPlan,
  engine: EngineModel,
  weather: Weather,
  sensors: SensorSet,
  timesMs: Float64Array,
  columns: readonly Float64Array[],
): (p: RunningDay) => number {
  const effects: FaultEffects = { ...HEALTHY };
  const drive: Drive = { speedRpm: 0, loadRatio: 0, vehicleKmh: 0, heightM: 60 };
  const demand = restingDemand();
  const slow = { heat: 1, breathing: 1, sinkK: 0, flow: 1 };
  let seaLevelKpa = 101;
  let lastMs: number | undefined;
  let count = 0;

  const refreshSlow = (timeMs: number, random: RandomSource): void => {
    applyFaults(effects, plan.faults, timeMs);
    effects.exhaustHeatFactor *= slow.heat;
    effects.volumetricEfficiencyFactor *= slow.breathing;
    const memory = 0.6;
    const spread = Math.sqrt(1 - memory * memory);
    slow.sinkK = memory * slow.sinkK + 0.7 * spread * random.normal();
    slow.flow = 1 + memory * (slow.flow - 1) + 0.06 * spread * random.normal();
    const ambientC = weather.ambientC(timeMs);
    demand.ambientC = ambientC;
    demand.seaC = weather.seaC(timeMs);
    seaLevelKpa = weather.seaLevelKpa(timeMs);
  };
  const sample = (timeMs: number): void => {
    surround(plan, demand, drive, slow, seaLevelKpa, engine.outputs[PLACE.coolantTemperature] ?? 15);
    engine.step(demand, effects, plan.sampleS);
    timesMs[count] = timeMs;
    for (let i = 0; i < columns.length; i += 1) (columns[i] as Float64Array)[count] = sensors.read(i, engine.outputs);
    count += 1;
  };

  return ({ day, dayStartMs, hand, chance }) => {
    count = 0;
    // Fuel quality and humidity change from day to day, unseen by any sensor.
    slow.heat = 1 + 0.004 * chance.normal();
    slow.breathing = 1 + 0.0025 * chance.normal();
    const weekday = new Date(dayStartMs).getUTCDay();
    if ((weekday === 0 && !plan.duty.sunday) || (weekday === 6 && !plan.duty.saturday)) return 0;
    if (hand.uniform() > plan.availability) return 0;
    plan.duty.shifts.forEach((shift, index) => {
      const startMs = dayStartMs + Math.round((shift.startHour + hand.between(-0.2, 0.2)) * 3600) * 1000;
      const endMs = Math.min(startMs + shift.hours * hand.between(0.9, 1) * 3_600_000, dayStartMs + DAY_MS);
      const first = Math.max(startMs, dayStartMs);
      if (lastMs !== undefined) engine.rest(weather.ambientC(first), (first - lastMs) / 1000);
      const onPass = index === 1 && plan.pass !== undefined && plan.passDays?.includes(day) === true;
      const { ratedSpeedRpm, idleSpeedRpm } = plan.spec;
      const driver = createDriver({
        duty: plan.duty,
        ratedSpeedRpm,
        idleSpeedRpm,
        random: hand,
        ...(onPass ? { first: plan.pass } : {}),
      });
      drive.heightM = plan.marine ? 2 : 60;
      drive.speedRpm = 0;
      drive.loadRatio = 0;
      drive.vehicleKmh = 0;
      let sinceSlow = SLOW_STEP_S;
      let place = 0;
      for (let timeMs = first; timeMs < endMs; timeMs += plan.sampleS * 1000) {
        sinceSlow += plan.sampleS;
        if (sinceSlow > SLOW_STEP_S) {
          refreshSlow(timeMs, chance);
          sinceSlow = 0;
        }
        // Power on before the start: a few readings at standstill.
        if (place >= 4) driver(drive, plan.sampleS);
        if (plan.marine) drive.heightM = 2;
        place += 1;
        sample(timeMs);
        lastMs = timeMs;
      }
    });
    blankNuisances(plan, timesMs, columns, count);
    return count;
  };
}

/** Air, cooling medium and engine room about the engine at this instant. */
function surround(
  plan: UnitPlan,
  demand: Demand,
  drive: Drive,
  slow: { sinkK: number; flow: number },
  seaLevelKpa: number,
  coolantC: number,
): void {
  const load = Math.max(drive.loadRatio, 0);
  demand.speedRpm = drive.speedRpm;
  demand.loadRatio = drive.loadRatio;
  demand.vehicleKmh = drive.vehicleKmh;
  demand.barometerKpa = barometerAtHeightKpa(seaLevelKpa, drive.heightM);
  const speedShare = drive.speedRpm / plan.spec.ratedSpeedRpm;
  if (plan.marine) {
    demand.engineRoomC = 0.75 * demand.ambientC + 14 + 5 * load;
    demand.inletC = demand.engineRoomC;
    const lowTemperatureC = plan.spec.cooler === 'separate_circuit' ? 7 + 7 * load : 0;
    const jacket = plan.spec.cooler === 'engine_jacket_water';
    demand.sinkC = jacket ? coolantC - 2 : demand.seaC + lowTemperatureC + 0.3 * slow.sinkK;
    demand.mediumFlowRatio = (0.25 + 0.75 * speedShare) * (1 + 0.3 * (slow.flow - 1));
  } else {
    const still = 1 - Math.min(drive.vehicleKmh / 85, 1);
    demand.engineRoomC = demand.ambientC;
    demand.inletC = demand.ambientC + 1.5 + 5 * still + 0.4 * slow.sinkK;
    demand.sinkC = demand.ambientC + 1 + 5 * still * (0.4 + load) + 0.6 * slow.sinkK;
    demand.mediumFlowRatio = (0.5 + 0.5 * (1 - still) + 0.25 * still * load) * slow.flow;
  }
}

/** Takes away the readings of sensors that were not available for a while. */
function blankNuisances(plan: UnitPlan, timesMs: Float64Array, columns: readonly Float64Array[], count: number): void {
  for (const nuisance of plan.nuisances) {
    if (nuisance.kind !== 'not_available') continue;
    const column = columns[plan.sensors.findIndex((fit) => fit.key === nuisance.key)];
    for (let i = 0; i < count && column !== undefined; i += 1) {
      const timeMs = timesMs[i] as number;
      if (timeMs >= nuisance.startMs && timeMs < nuisance.endMs) column[i] = Number.NaN;
    }
  }
}

function restingDemand(): Demand {
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
