import type { SignalKey } from '../schemas/signals.ts';
import type { Unit } from '../schemas/unit.ts';
import { DAY_MS, DEMO_START_MS } from './calendar.ts';
import type { ModelSignal } from './engine/outputs.ts';
import type { FaultPlan } from './fault-plan.ts';
import { type ModelledFault, scaledFault } from './fault-sizes.ts';
import { fleetUnit } from './fleet-unit.ts';
import { createRandom, seedOf } from './random.ts';
import { fitSensors } from './sensors.ts';
import { simulateUnit } from './simulate-unit.ts';
import { type SyntheticKind, syntheticKinds } from './synthetic-kinds.ts';
import type { UnitPlan } from './unit-plan.ts';

/** One fault to put into a synthetic fleet. */
export type SyntheticFault = {
  /** Index of the unit, from 0. */
  readonly unit: number;
  readonly fault: ModelledFault;
  readonly onsetDay: number;
  /** Day on which a slowly growing fault has its full size; left out, it is there at once. */
  readonly fullDay?: number;
  /** Size by the reference size of the fault; 1 when left out. */
  readonly severity?: number;
};

export type SyntheticFleet = {
  readonly units: number;
  readonly days: number;
  readonly seed: number;
  readonly faults: readonly SyntheticFault[];
  /** `base`: what most engines have. `full`: compressor outlet, drops, turbocharger speed, exhaust pressure and actuator too. */
  readonly sensorSet?: 'base' | 'full';
  /** Midnight UTC of day 0; the demonstration's first day when left out. */
  readonly startMs?: number;
  /** Kinds of unit to make, round and round; all six when left out. */
  readonly kinds?: readonly SyntheticKind[];
};

/** Samples of one unit and day in columns; `null` where not available. */
export type SyntheticDay = {
  readonly unitId: string;
  readonly tMs: number[];
  readonly columns: { [K in SignalKey]?: (number | null)[] };
};

/**
 * Yields the samples of a fleet of any size, for benchmarks of detection: unit after unit, day after day, in memory of
 * one day. Engines of a kind differ a little from one another, as built engines do. Days without work yield nothing.
 */
export function* syntheticFleet(fleet: SyntheticFleet): Generator<SyntheticDay> {
  for (const plan of syntheticPlans(fleet)) {
    const run = { startMs: fleet.startMs ?? DEMO_START_MS, days: fleet.days, seed: fleet.seed };
    for (const day of simulateUnit(plan, run)) {
      if (day.count === 0) continue;
      const columns: SyntheticDay['columns'] = {};
      plan.sensors.forEach(({ key }, index) => {
        columns[key] = Array.from(day.columns[index]?.subarray(0, day.count) ?? [], (value) =>
          Number.isNaN(value) ? null : value,
        );
      });
      yield { unitId: plan.id, tMs: Array.from(day.timesMs.subarray(0, day.count)), columns };
    }
  }
}

/** The units of a synthetic fleet as a fleet file describes them, in order of their index. */
export function syntheticFleetUnits(fleet: SyntheticFleet): Unit[] {
  return syntheticPlans(fleet).map((plan, index) => {
    const { duty } = kindOf(fleet, index);
    const { boostKpa } = plan.spec.design;
    const card = {
      name: `Unit ${index + 1}`,
      duty,
      place: 'hallowmere',
      boostMaxKpa: boostKpa * 1.25,
      chargeAirMaxC: plan.marine ? 75 : 95,
    };
    return fleetUnit(plan, card);
  });
}

const ROAD_BASE: readonly ModelSignal[] = ['ambientAirTemperature', 'vehicleSpeed'];
const MARINE_BASE: readonly ModelSignal[] = [
  'engineRoomTemperature',
  'seaWaterTemperature',
  'coolerWaterInletTemperature',
];
const BASE: readonly ModelSignal[] = [
  'engineSpeed',
  'engineLoad',
  'fuelRate',
  'boostPressure',
  'intakeManifoldTemperature',
  'exhaustTemperature',
  'oilPressure',
  'oilTemperature',
  'coolantTemperature',
  'barometricPressure',
];
const FULL: readonly ModelSignal[] = [
  'compressorOutletTemperature',
  'intakeAirTemperature',
  'chargeAirCoolerDifferentialPressure',
  'airFilterDifferentialPressure',
  'turbineInletPressure',
  'turbineOutletTemperature',
  'turbochargerSpeed',
];

function kindOf(fleet: SyntheticFleet, index: number) {
  const kinds = fleet.kinds ?? (Object.keys(syntheticKinds) as SyntheticKind[]);
  return syntheticKinds[kinds[index % kinds.length] ?? 'long_haul'];
}

function syntheticPlans(fleet: SyntheticFleet): UnitPlan[] {
  return Array.from({ length: fleet.units }, (_, index) => {
    const kind = kindOf(fleet, index);
    const random = createRandom(seedOf('synthetic', fleet.seed, index));
    const near = (value: number, spread: number) => value * (1 + spread * random.normal());
    const spec = {
      ...kind.spec,
      compressorEfficiency: near(kind.spec.compressorEfficiency, 0.008),
      coolerEffectiveness: Math.min(near(kind.spec.coolerEffectiveness, 0.012), 0.95),
      exhaustHeatShare: near(kind.spec.exhaustHeatShare, 0.01),
      volumetricEfficiency: near(kind.spec.volumetricEfficiency, 0.008),
      design: { ...kind.spec.design, boostKpa: near(kind.spec.design.boostKpa, 0.02) },
    };
    const signals = [...BASE, ...(kind.marine ? MARINE_BASE : ROAD_BASE), ...(fleet.sensorSet === 'full' ? FULL : [])];
    if (fleet.sensorSet === 'full' && spec.boostControl === 'variable_geometry') signals.push('vgtPosition');
    return {
      id: `unit-${String(index + 1).padStart(3, '0')}`,
      marine: kind.marine,
      spec,
      duty: kind.work,
      climate: kind.climate,
      sensors: fitSensors(signals, kind.marine),
      sampleS: kind.marine ? 30 : 10,
      startHours: random.between(2_000, 30_000),
      faults: fleet.faults
        .filter((fault) => fault.unit === index)
        .map((fault) => planOf(fleet, fault, spec.displacementL)),
      nuisances: [],
      availability: 0.95,
    };
  });
}

function planOf(fleet: SyntheticFleet, fault: SyntheticFault, displacementL: number): FaultPlan {
  const at = (day: number) => (fleet.startMs ?? DEMO_START_MS) + day * DAY_MS;
  const onsetMs = at(fault.onsetDay);
  const size = scaledFault(fault.fault, displacementL);
  return {
    faultId: fault.fault,
    growth:
      fault.fullDay === undefined
        ? { shape: 'step', onsetMs }
        : { shape: 'linear', onsetMs, fullMs: at(fault.fullDay) },
    severity: fault.severity ?? 1,
    ...size,
  };
}
