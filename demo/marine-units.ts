import { dayMs } from './calendar.ts';
import { coaster, ferry, fishing, harbourTug, inlandCargo } from './duty/marine-duties.ts';
import type { ModelSignal } from './engine/outputs.ts';
import { marineEngine } from './engines.ts';
import { fitSensors } from './sensors.ts';
import type { UnitPlan } from './unit-plan.ts';
import type { Climate } from './weather.ts';

/** The invented coast: cooler and steadier than inland, with a sea that is warmest in late August. */
export const COAST: Climate = {
  name: 'coast',
  meanC: 9.8,
  seasonK: 7.5,
  dayK: 2.4,
  seaMeanC: 11.5,
  seaSeasonK: 6.5,
  hotSpell: { startMs: dayMs(33), days: 8, heightK: 5 },
};

const base: readonly ModelSignal[] = [
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
  'engineRoomTemperature',
  'seaWaterTemperature',
];

const common = { marine: true, climate: COAST, sampleS: 30, faults: [], nuisances: [], availability: 0.93 } as const;

const trawlerEngine = marineEngine({
  displacementL: 22,
  ratedPowerKw: 420,
  ratedSpeedRpm: 1800,
  idleSpeedRpm: 650,
  designSpeedRpm: 1500,
  designBoostKpa: 165,
  designSinkC: 22,
  designShaftRpm: 62_000,
});

/** The vessels: tug, inland cargo vessel, ferry, both engines of a fishing vessel, and a coaster with two stages. */
export const MARINE_UNITS: readonly UnitPlan[] = [
  {
    ...common,
    id: 'tug-1',
    spec: marineEngine({
      displacementL: 28,
      strokes: 2,
      charging: 'blower_scavenged',
      ratedPowerKw: 760,
      ratedSpeedRpm: 1600,
      idleSpeedRpm: 550,
      designSpeedRpm: 1500,
      designBoostKpa: 118,
      designSinkC: 80,
      cooler: 'engine_jacket_water',
      coolerEffectiveness: 0.8,
      designShaftRpm: 54_000,
    }),
    duty: harbourTug,
    sensors: fitSensors(base, true),
    startHours: 38_400,
  },
  {
    ...common,
    id: 'cargo-2',
    spec: marineEngine({
      displacementL: 32,
      ratedPowerKw: 780,
      ratedSpeedRpm: 1600,
      idleSpeedRpm: 600,
      designSpeedRpm: 1500,
      designBoostKpa: 180,
      designSinkC: 30,
      cooler: 'separate_circuit',
      designShaftRpm: 56_000,
    }),
    duty: inlandCargo,
    sensors: fitSensors(
      [
        ...base,
        'compressorInletTemperature',
        'compressorOutletTemperature',
        'coolerWaterInletTemperature',
        'airFilterDifferentialPressure',
        'turbochargerSpeed',
      ],
      true,
    ),
    startHours: 26_700,
    faults: [
      {
        faultId: 'compressor_fouled',
        growth: { shape: 'sawtooth', onsetMs: dayMs(24), periodMs: 30 * 86_400_000, leftBehind: 0.2 },
        effects: { compressorEfficiencyLoss: 0.06 },
      },
    ],
  },
  {
    ...common,
    id: 'ferry-5',
    spec: marineEngine({
      displacementL: 16,
      ratedPowerKw: 380,
      ratedSpeedRpm: 1900,
      idleSpeedRpm: 650,
      designSpeedRpm: 1750,
      designBoostKpa: 170,
      designSinkC: 20,
      designShaftRpm: 78_000,
    }),
    duty: ferry,
    sensors: fitSensors(
      [...base, 'compressorOutletTemperature', 'coolerWaterInletTemperature', 'coolerWaterOutletTemperature'],
      true,
    ),
    startHours: 31_050,
    faults: [
      {
        faultId: 'cac_coolant_side_fouled',
        growth: { shape: 'linear', onsetMs: dayMs(30), fullMs: dayMs(112) },
        effects: { coolerConductanceFactor: 0.55 },
      },
    ],
  },
  {
    ...common,
    id: 'trawler-9-port',
    crew: 'trawler-9',
    spec: trawlerEngine,
    duty: fishing,
    sensors: fitSensors([...base, 'turbochargerOilPressure', 'turbochargerOilTemperature'], true),
    startHours: 14_880,
    faults: [
      {
        faultId: 'oil_supply_low',
        growth: { shape: 'linear', onsetMs: dayMs(48), fullMs: dayMs(118) },
        effects: { oilPumpFactor: 0.7, oilSupplyFactor: 0.85 },
      },
    ],
  },
  {
    ...common,
    id: 'trawler-9-starboard',
    crew: 'trawler-9',
    spec: { ...trawlerEngine, turbineEfficiency: 0.715, coolerEffectiveness: 0.89 },
    duty: fishing,
    sensors: fitSensors([...base, 'turbochargerOilPressure', 'turbochargerOilTemperature'], true),
    startHours: 14_905,
  },
  {
    ...common,
    id: 'coaster-3',
    spec: marineEngine({
      displacementL: 36,
      charging: 'two_stage',
      ratedPowerKw: 1150,
      ratedSpeedRpm: 1600,
      idleSpeedRpm: 600,
      designSpeedRpm: 1500,
      designBoostKpa: 285,
      designSinkC: 22,
      designShaftRpm: 58_000,
    }),
    duty: coaster,
    sensors: fitSensors([...base, 'compressorOutletTemperature', 'turbochargerSpeed'], true),
    startHours: 8_230,
    nuisances: [
      { kind: 'repeated_rows', day: 26, count: 60 },
      { kind: 'bad_rows', day: 53 },
      { kind: 'bad_rows', day: 90 },
      {
        kind: 'not_available',
        key: 'seaWaterTemperature',
        startMs: dayMs(70) + 8 * 3_600_000,
        endMs: dayMs(70) + 9 * 3_600_000,
      },
    ],
  },
];
