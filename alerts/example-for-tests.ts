import { type Finding, findingSchema } from '../schemas/finding.ts';
import { type FleetFile, fleetFileSchema } from '../schemas/fleet-file.ts';
import type { Unit } from '../schemas/unit.ts';

/** Hour in ms; times of the examples count from {@link START_MS}. */
export const HOUR_MS = 3_600_000;
/** Monday 9 November 2026, 06:00 UTC. */
export const START_MS = Date.UTC(2026, 10, 9, 6);

const road = {
  kind: 'road',
  duty: 'long_haul',
  place: 'north-yard',
  engine: {
    ratedPowerKw: 340,
    ratedSpeedRpm: 1900,
    displacementL: 12.7,
    strokes: 4,
    charging: 'single_stage',
    boostControl: 'wastegate',
    cooler: 'air_to_air',
  },
  sensors: { boostPressure: { reference: 'gauge' }, oilPressure: { reference: 'gauge' } },
  limits: { source: 'manual of the engine, section 4' },
} as const;

/** An invented fleet for tests: three trucks at a yard, a tug and a generator at a quay. Checked by the real schema. */
export const EXAMPLE_FLEET: FleetFile = fleetFileSchema.parse({
  version: 1,
  fleet: { name: 'Example fleet', timeZone: 'Europe/Athens' },
  places: [
    { id: 'north-yard', name: 'North yard', kind: 'depot' },
    { id: 'east-quay', name: 'East quay', kind: 'port' },
  ],
  units: [
    {
      id: 'truck-07',
      name: 'Truck 07',
      ...road,
      limits: { source: 'engine manual, section 4', filterPressureDropMaxKpa: 6.2 },
    },
    { id: 'truck-08', name: 'Truck 08', ...road },
    { id: 'truck-09', name: 'Truck 09', ...road },
    {
      id: 'tug-port-engine',
      name: 'Tug, port engine',
      kind: 'vessel',
      duty: 'tug',
      place: 'east-quay',
      engine: {
        ratedPowerKw: 1200,
        ratedSpeedRpm: 900,
        displacementL: 73,
        strokes: 2,
        charging: 'blower_scavenged',
        boostControl: 'none',
        cooler: 'seawater',
      },
      sensors: {},
      limits: { source: 'engine manual, data sheet 2', chargeAirTemperatureMaxC: 55, exhaustTemperatureMaxC: 430 },
    },
    {
      id: 'quay-generator',
      name: 'Quay generator',
      kind: 'generator',
      duty: 'generator',
      place: 'east-quay',
      engine: { ...road.engine, boostControl: 'none', cooler: 'separate_circuit' },
      sensors: {},
      limits: { source: 'engine manual' },
    },
  ],
});

/** A unit of {@link EXAMPLE_FLEET} by its id. */
export function exampleUnit(id: string): Unit {
  const unit = EXAMPLE_FLEET.units.find((candidate) => candidate.id === id);
  if (unit === undefined) throw new Error(`the example fleet has no ${id}`);
  return unit;
}

/** A finding of `truck-07` that says too little boost, changed by what is given. Checked by the real schema. */
export function exampleFinding(change: Partial<Finding> = {}): Finding {
  const unit = change.unit ?? 'truck-07';
  const kind = change.kind ?? 'boost_shortfall';
  const sinceMs = change.sinceMs ?? START_MS;
  const atMs = change.atMs ?? sinceMs + 6 * HOUR_MS;
  return findingSchema.parse({
    version: 1,
    id: `${unit}/${kind}/cusum/${sinceMs}`,
    unit,
    kind,
    detector: 'cusum',
    sinceMs,
    atMs,
    updatedAtMs: atMs,
    state: 'open',
    severity: 'medium',
    subject: 'boost',
    evidence: {
      observed: 138,
      expected: 152,
      departure: -14,
      departureStandardUncertainty: 1.2,
      unit: 'kPa',
      points: 22,
      pattern: { boost: -4.1, exhaustTemperature: 3.2 },
      sentence: 'Boost is 14 kPa below expectation over 22 operating points, exhaust 31 °C above.',
    },
    causes: [
      { cause: 'boost_leak_after_cooler', probability: 0.55 },
      { cause: 'intake_restriction', probability: 0.3 },
      { cause: 'unknown', probability: 0.1 },
      { cause: 'sensor_boost_drift', probability: 0.05 },
    ],
    causeGroups: [
      { causes: ['boost_leak_after_cooler', 'intake_restriction'], probability: 0.85 },
      { causes: ['unknown'], probability: 0.1 },
      { causes: ['sensor_boost_drift'], probability: 0.05 },
    ],
    separatingChecks: ['measure the filter drop at full load', 'hold the boost side under air'],
    troubleCodes: [],
    ...change,
  });
}
