import { describe, expect, test } from 'vitest';
import type { EngineSpec } from './engine-spec.ts';
import { type FaultEffects, HEALTHY } from './fault-effects.ts';
import { type Conditions, type GasState, restingGasState } from './gas-state.ts';
import { designConditions, sizePlant } from './size-plant.ts';
import { solveGasPath } from './solve.ts';

/**
 * The engine of the reference calculation: 12.7 L at 1500 rpm and 0.0135 kg/s of fuel, fixed turbine, 101.3 kPa, cooling
 * air at 35 °C, which gives 150 kPa boost, 153 °C after the compressor, 53 °C manifold, 550 °C exhaust.
 */
const spec: EngineSpec = {
  displacementL: 12.7,
  strokes: 4,
  ratedPowerKw: 350,
  ratedSpeedRpm: 1900,
  idleSpeedRpm: 600,
  charging: 'single_stage',
  boostControl: 'none',
  cooler: 'air_to_air',
  design: { speedRpm: 1500, fuelKgS: 0.0135, boostKpa: 150, sinkTempC: 35 },
  volumetricEfficiency: 0.93,
  compressorEfficiency: 0.75,
  turbineEfficiency: 0.72,
  coolerEffectiveness: 0.85,
  designShaftRpm: 90_000,
  exhaustHeatShare: 0.4,
  filterDropKpa: 3.6,
  coolerDropKpa: 9.3,
  backPressureKpa: 4,
  rotorLagS: 2,
  coolerLagS: 20,
  manifoldLagS: 150,
  thermocoupleLagS: 5,
  coolantLagS: 400,
  oilPressureKpa: 400,
};
const plant = sizePlant(spec);

function runningPoint(faults: Partial<FaultEffects> = {}, given: Partial<Conditions> = {}, engine = plant): GasState {
  const state = restingGasState();
  const conditions = { ...designConditions(engine.spec), barometerKpa: 101.3, ...given };
  for (let settle = 0; settle < 12; settle += 1) solveGasPath(engine, conditions, { ...HEALTHY, ...faults }, state);
  return state;
}

const healthy = runningPoint();
const clean = healthy.effectiveness;

/** Conductance that brings effectiveness down by a given amount. */
function conductanceFor(effectivenessLoss: number): number {
  let low = 0.2;
  let high = 1;
  for (let pass = 0; pass < 40; pass += 1) {
    const middle = (low + high) / 2;
    if (clean - runningPoint({ coolerConductanceFactor: middle }).effectiveness > effectivenessLoss) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

type Effect = {
  boostKpa?: number;
  compressorOutletK?: number;
  manifoldK?: number;
  exhaustK?: number;
  exhaustKpa?: number;
};

// Source: a steady matching calculation made apart from this model, with constant component efficiencies (equations:
// compressor and turbine power balance, speed-density air, quadratic drops, choked hole with 0.8); "signs and order of
// magnitude only" by its own words. Signs of leak, filter and exhaust leak agree with Isermann, Combustion Engine
// Diagnosis, table 5.4.1.
const derived: { name: string; faults: Partial<FaultEffects>; given?: Partial<Conditions>; effect: Effect }[] = [
  {
    name: 'leak of 5 mm',
    faults: { leakAfterCoolerMm: 5 },
    effect: { boostKpa: -4.6, compressorOutletK: -2.5, exhaustK: 8 },
  },
  {
    name: 'leak of 10 mm',
    faults: { leakAfterCoolerMm: 10 },
    effect: { boostKpa: -17, compressorOutletK: -9, exhaustK: 32 },
  },
  {
    name: 'effectiveness less by 0.05',
    faults: { coolerConductanceFactor: conductanceFor(0.05) },
    effect: { boostKpa: 3, manifoldK: 6, exhaustK: 10 },
  },
  {
    name: 'effectiveness less by 0.10',
    faults: { coolerConductanceFactor: conductanceFor(0.1) },
    effect: { boostKpa: 6, manifoldK: 13, exhaustK: 19 },
  },
  {
    name: 'effectiveness less by 0.10 and drop 1.8 times',
    faults: { coolerConductanceFactor: conductanceFor(0.1), coolerDropFactor: 1.8 },
    effect: { manifoldK: 13, exhaustK: 30 },
  },
  {
    name: 'compressor two points worse',
    faults: { compressorEfficiencyLoss: 0.02 },
    effect: { boostKpa: -4.6, exhaustK: 9 },
  },
  {
    name: 'compressor five points worse',
    faults: { compressorEfficiencyLoss: 0.05 },
    effect: { boostKpa: -11.5, exhaustK: 24 },
  },
  { name: 'filter drop more by 3.2 kPa', faults: { filterFactor: 1.99 }, effect: { boostKpa: -7, exhaustK: 14 } },
  {
    name: 'gate leaking 3 % of the gas',
    faults: { gateLeakShare: 0.03 },
    effect: { boostKpa: -10, compressorOutletK: -6, exhaustK: 17, exhaustKpa: -12 },
  },
  {
    name: 'back pressure more by 6 kPa',
    faults: { backPressureFactor: 2.5 },
    effect: { boostKpa: -9, compressorOutletK: -6, exhaustK: 16 },
  },
  {
    name: 'exhaust leak of 6 mm',
    faults: { exhaustLeakMm: 6 },
    effect: { boostKpa: -6, compressorOutletK: -4, exhaustK: 11, exhaustKpa: -8 },
  },
  {
    name: 'cooling air hotter by 10 K',
    faults: {},
    given: { sinkK: 318.15 },
    effect: { boostKpa: 4, manifoldK: 9, exhaustK: 14 },
  },
];

describe('the model against a calculation made apart from it', () => {
  test('the healthy running point is that of the reference engine', () => {
    expect(healthy.manifoldKpa - 101.3).toBeCloseTo(150, -0.5);
    expect(healthy.compressorOutletK - 273.15).toBeGreaterThan(148);
    expect(healthy.compressorOutletK - 273.15).toBeLessThan(158);
    expect(Math.abs(healthy.manifoldK - 273.15 - 53)).toBeLessThan(4);
    expect(Math.abs(healthy.exhaustK - 273.15 - 550)).toBeLessThan(25);
  });

  test.each(derived)('$name moves every quantity as derived, within a factor of 1.6', ({ faults, given, effect }) => {
    const state = runningPoint(faults, given);
    const moved = { ...state, boostKpa: state.manifoldKpa } as Required<Effect>;
    const base = { ...healthy, boostKpa: healthy.manifoldKpa } as Required<Effect>;
    for (const key of Object.keys(effect) as (keyof Effect)[]) {
      const ratio = (moved[key] - base[key]) / (effect[key] ?? Number.NaN);
      expect(ratio, key).toBeGreaterThan(1 / 1.6);
      expect(ratio, key).toBeLessThan(1.6);
    }
  });

  // Derived: with cooler fouling, boost rises a little or not at all; it may not be used as evidence.
  test('fouling that also throttles leaves boost within 3 kPa', () => {
    const state = runningPoint({ coolerConductanceFactor: conductanceFor(0.1), coolerDropFactor: 1.8 });
    expect(Math.abs(state.manifoldKpa - healthy.manifoldKpa)).toBeLessThan(3);
  });

  // Derived: too little air lowers boost and raises exhaust temperature; a fuel fault moves both the same way.
  test('boost and exhaust temperature part air faults from fuel faults', () => {
    const direction = (state: GasState) => [
      Math.sign(state.manifoldKpa - healthy.manifoldKpa),
      Math.sign(state.exhaustK - healthy.exhaustK),
    ];
    expect(direction(runningPoint({ turbineEfficiencyFactor: 0.95 }))).toEqual([-1, 1]);
    expect(direction(runningPoint({ bearingLossShare: 0.05 }))).toEqual([-1, 1]);
    expect(direction(runningPoint({ exhaustHeatFactor: 1.04 }))).toEqual([1, 1]);
    const starved = runningPoint({}, { fuelKgS: 0.0135 * 0.95 });
    expect(direction(starved)).toEqual([-1, -1]);
    const flooded = runningPoint({}, { fuelKgS: 0.0135 * 1.05 });
    expect(direction(flooded)).toEqual([1, 1]);
  });

  // Derived (closed loop): while the vanes have authority, a leak stays out of boost and shows at the actuator.
  test('vanes that hold boost hide a leak and close instead', () => {
    const closedLoop = sizePlant({ ...spec, boostControl: 'variable_geometry' });
    const before = runningPoint({}, { fuelRatio: 0.9, fuelKgS: 0.01215 }, closedLoop);
    const after = runningPoint({ leakAfterCoolerMm: 8 }, { fuelRatio: 0.9, fuelKgS: 0.01215 }, closedLoop);
    expect(Math.abs(after.manifoldKpa - before.manifoldKpa)).toBeLessThan(2.5);
    expect(after.vaneOpening).toBeLessThan(before.vaneOpening - 0.05);
    expect(after.exhaustKpa).toBeGreaterThan(before.exhaustKpa);
  });

  test('a gate stuck shut raises boost, shaft speed and exhaust pressure, above the opening load only', () => {
    const gated = sizePlant({ ...spec, boostControl: 'wastegate' });
    const heavy = { fuelRatio: 1.3, fuelKgS: 0.0175, speedRpm: 1800 };
    const open = runningPoint({}, heavy, gated);
    const shut = runningPoint({ gateOpeningFactor: 0 }, heavy, gated);
    expect(open.gateShare).toBeGreaterThan(0.02);
    expect(shut.manifoldKpa).toBeGreaterThan(open.manifoldKpa + 8);
    expect(shut.shaftRpm).toBeGreaterThan(open.shaftRpm);
    expect(shut.exhaustKpa).toBeGreaterThan(open.exhaustKpa);
    expect(shut.exhaustK).toBeLessThan(open.exhaustK);
    const light = { fuelRatio: 0.5, fuelKgS: 0.00675 };
    expect(runningPoint({ gateOpeningFactor: 0 }, light, gated).manifoldKpa).toBeCloseTo(
      runningPoint({}, light, gated).manifoldKpa,
      1,
    );
  });
});
