import { createDriver, type Drive } from './duty/drive.ts';
import { createEngine, type Demand, type EngineModel } from './engine/engine-model.ts';
import { type FaultEffects, HEALTHY } from './engine/fault-effects.ts';
import { PLACE } from './engine/outputs.ts';
import { applyFaults } from './fault-plan.ts';
import { createRandom, type RandomSource, seedOf } from './random.ts';
import { createSensors, type SensorSet } from './sensors.ts';
import { moveWeather, newDay, noInfluences, restingDemand, type SlowInfluences, surround } from './surroundings.ts';
import type { UnitPlan } from './unit-plan.ts';
import { createWeather, type Weather } from './weather.ts';

const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;
/** How often fault sizes, wind and weather are brought up to date. */
const SLOW_STEP_MS = 300_000;
/** Readings with the power on before the engine is started. */
const STANDSTILL_SAMPLES = 4;
const DEPOT_HEIGHT_M = 60;
const WATERLINE_HEIGHT_M = 2;

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
 * @param p.firstDay - Day to begin with, 0 when left out. Each day has chance of its own, so a later day is the same
 *   whether or not those before it were simulated, but for the warmth left from the day before.
 */
export function* simulateUnit(
  plan: UnitPlan,
  p: { startMs: number; days: number; seed: number; firstDay?: number },
): Generator<UnitDay> {
  const capacity = Math.ceil(DAY_MS / 1000 / plan.sampleS);
  const unit: RunningUnit = {
    plan,
    engine: createEngine(plan.spec, plan.startHours),
    weather: createWeather(plan.climate, p.seed),
    sensors: createSensors(plan.sensors, plan.faults, plan.id, p.seed),
    effects: { ...HEALTHY },
    drive: { speedRpm: 0, loadRatio: 0, vehicleKmh: 0, heightM: 0 },
    demand: restingDemand(),
    slow: noInfluences(),
    timesMs: new Float64Array(capacity),
    columns: plan.sensors.map(() => new Float64Array(capacity)),
    count: 0,
    stoppedMs: undefined,
  };
  const firstDay = p.firstDay ?? 0;
  for (let day = firstDay; day < firstDay + p.days; day += 1) {
    const dayStartMs = p.startMs + day * DAY_MS;
    // The engines of one vessel share the hand on the throttle, but neither sensors nor fuel.
    const hand = createRandom(seedOf(plan.crew ?? plan.id, p.seed, day));
    const chance = createRandom(seedOf(`${plan.id}/engine`, p.seed, day));
    runDay(unit, { day, dayStartMs, hand, chance });
    yield { day, count: unit.count, timesMs: unit.timesMs, columns: unit.columns };
  }
}

type RunningUnit = {
  readonly plan: UnitPlan;
  readonly engine: EngineModel;
  readonly weather: Weather;
  readonly sensors: SensorSet;
  readonly effects: FaultEffects;
  readonly drive: Drive;
  readonly demand: Demand;
  readonly slow: SlowInfluences;
  readonly timesMs: Float64Array;
  readonly columns: readonly Float64Array[];
  count: number;
  /** Time of the last sample. */
  stoppedMs: number | undefined;
};

type WorkingDay = {
  readonly day: number;
  readonly dayStartMs: number;
  /** Chance of the work: when it goes out, what the driver asks. */
  readonly hand: RandomSource;
  /** Chance of engine and sensors. */
  readonly chance: RandomSource;
};

function runDay(unit: RunningUnit, p: WorkingDay): void {
  const { plan, sensors } = unit;
  const { duty } = plan;
  unit.count = 0;
  sensors.startDay(p.day, p.chance, p.dayStartMs);
  newDay(unit.slow, p.chance);
  const weekday = new Date(p.dayStartMs).getUTCDay();
  if ((weekday === 0 && !duty.sunday) || (weekday === 6 && !duty.saturday)) return;
  if (p.hand.uniform() > plan.availability) return;
  duty.shifts.forEach((shift, index) => {
    const lateMs = Math.round(p.hand.between(-0.2, 0.2) * 3600) * 1000;
    const startMs = Math.max(p.dayStartMs + shift.startHour * HOUR_MS + lateMs, p.dayStartMs);
    const endMs = Math.min(startMs + shift.hours * p.hand.between(0.9, 1) * HOUR_MS, p.dayStartMs + DAY_MS);
    runShift(unit, p, { startMs, endMs, onPass: index === 1 && plan.passDays?.includes(p.day) === true });
  });
  blankNuisances(unit);
}

function runShift(unit: RunningUnit, day: WorkingDay, p: { startMs: number; endMs: number; onPass: boolean }): void {
  const { plan, drive, engine } = unit;
  const { ratedSpeedRpm, idleSpeedRpm } = plan.spec;
  const first = p.onPass ? plan.pass : undefined;
  const follow = createDriver({
    duty: plan.duty,
    ratedSpeedRpm,
    idleSpeedRpm,
    random: day.hand,
    ...(first === undefined ? {} : { first }),
  });
  Object.assign(drive, {
    speedRpm: 0,
    loadRatio: 0,
    vehicleKmh: 0,
    heightM: plan.marine ? WATERLINE_HEIGHT_M : DEPOT_HEIGHT_M,
  });
  if (unit.stoppedMs !== undefined) engine.rest(unit.weather.ambientC(p.startMs), (p.startMs - unit.stoppedMs) / 1000);
  const stepMs = plan.sampleS * 1000;
  let refreshMs = p.startMs;
  let place = 0;
  for (let timeMs = p.startMs; timeMs < p.endMs; timeMs += stepMs) {
    if (timeMs >= refreshMs) {
      refreshSlow(unit, timeMs, day.chance);
      refreshMs = timeMs + SLOW_STEP_MS;
    }
    if (place >= STANDSTILL_SAMPLES) follow(drive, plan.sampleS);
    if (plan.marine) drive.heightM = WATERLINE_HEIGHT_M;
    place += 1;
    sample(unit, timeMs);
    unit.stoppedMs = timeMs;
  }
}

function refreshSlow(unit: RunningUnit, timeMs: number, random: RandomSource): void {
  const { plan, effects, slow, demand, weather } = unit;
  applyFaults(effects, plan.faults, timeMs);
  effects.exhaustHeatFactor *= slow.heat;
  effects.volumetricEfficiencyFactor *= slow.breathing;
  moveWeather({ slow, demand, weather, timeMs, random });
}

function sample(unit: RunningUnit, timeMs: number): void {
  const { plan, demand, drive, slow, engine, sensors, columns, count } = unit;
  surround({ plan, demand, drive, slow, coolantC: engine.outputs[PLACE.coolantTemperature] as number });
  engine.step(demand, unit.effects, plan.sampleS);
  unit.timesMs[count] = timeMs;
  sensors.read(engine.outputs, columns, count);
  unit.count = count + 1;
}

/** Takes away the readings of sensors that were not available for a while. */
function blankNuisances(unit: RunningUnit): void {
  const { plan, timesMs, columns, count } = unit;
  for (const nuisance of plan.nuisances) {
    if (nuisance.kind !== 'not_available') continue;
    const column = columns[plan.sensors.findIndex((fit) => fit.key === nuisance.key)];
    for (let i = 0; i < count && column !== undefined; i += 1) {
      const timeMs = timesMs[i] as number;
      if (timeMs >= nuisance.startMs && timeMs < nuisance.endMs) column[i] = Number.NaN;
    }
  }
}
