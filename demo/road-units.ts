import { dayMs } from './calendar.ts';
import { cityBus, longHaul, mountainPass, nightHaul, regional, tipper } from './duty/road-duties.ts';
import type { ModelSignal } from './engine/outputs.ts';
import { roadEngine } from './engines.ts';
import { fitSensors } from './sensors.ts';
import type { UnitPlan } from './unit-plan.ts';
import type { Climate } from './weather.ts';

/** The invented inland region: warm summers, first frosts by night in late October, one hot spell in August. */
export const INLAND: Climate = {
  name: 'inland',
  meanC: 9.5,
  seasonK: 10,
  dayK: 4.5,
  seaMeanC: 11,
  seaSeasonK: 7,
  hotSpell: { startMs: dayMs(33), days: 8, heightK: 8.5 },
};

const base: readonly ModelSignal[] = [
  'engineSpeed',
  'engineLoad',
  'fuelRate',
  'boostPressure',
  'intakeManifoldTemperature',
  'oilPressure',
  'oilTemperature',
  'coolantTemperature',
  'barometricPressure',
  'ambientAirTemperature',
  'vehicleSpeed',
];

const truckEngine = {
  displacementL: 12.8,
  ratedPowerKw: 345,
  ratedSpeedRpm: 1800,
  idleSpeedRpm: 600,
  designSpeedRpm: 1150,
  designBoostKpa: 178,
  designSinkC: 30,
} as const;

const common = { marine: false, climate: INLAND, sampleS: 10, faults: [], nuisances: [], availability: 0.95 } as const;

/** The road units: three long-haul trucks, a regional one, a tipper and a city bus. */
export const ROAD_UNITS: readonly UnitPlan[] = [
  {
    ...common,
    id: 'truck-07',
    spec: roadEngine({ ...truckEngine, boostControl: 'wastegate' }),
    duty: longHaul,
    sensors: fitSensors(
      [...base, 'exhaustTemperature', 'airFilterDifferentialPressure', 'intakeAirTemperature', 'engineHours'],
      false,
    ),
    startHours: 11_240,
    faults: [
      {
        faultId: 'boost_leak_after_cooler',
        growth: { shape: 'linear', onsetMs: dayMs(60), fullMs: dayMs(112) },
        effects: { leakAfterCoolerMm: 12 },
      },
    ],
  },
  {
    ...common,
    id: 'truck-12',
    spec: roadEngine({ ...truckEngine, boostControl: 'wastegate', coolerEffectiveness: 0.81 }),
    duty: nightHaul,
    sensors: fitSensors([...base, 'exhaustTemperature', 'turbochargerSpeed'], false),
    startHours: 17_905,
    // After a workshop visit the gate's pressure line is left off: it stays shut from then on.
    faults: [
      {
        faultId: 'wastegate_stuck_closed',
        growth: { shape: 'step', onsetMs: dayMs(78.6) },
        effects: { gateOpeningFactor: 0 },
      },
    ],
  },
  {
    ...common,
    id: 'truck-19',
    spec: roadEngine({ ...truckEngine, boostControl: 'variable_geometry', designBoostKpa: 190 }),
    duty: longHaul,
    sensors: fitSensors([...base, 'exhaustTemperature', 'vgtPosition', 'airFilterDifferentialPressure'], false),
    startHours: 4_310,
    passDays: Array.from({ length: 34 }, (_, index) => 3 + index * 3.5).map(Math.round),
    pass: mountainPass,
  },
  {
    ...common,
    id: 'truck-23',
    spec: roadEngine({
      ...truckEngine,
      displacementL: 9.3,
      ratedPowerKw: 235,
      ratedSpeedRpm: 2000,
      designSpeedRpm: 1300,
      designBoostKpa: 160,
      boostControl: 'electronic',
      designShaftRpm: 104_000,
    }),
    duty: regional,
    sensors: fitSensors([...base, 'exhaustTemperature'], false),
    startHours: 7_650,
    nuisances: [
      {
        kind: 'not_available',
        key: 'ambientAirTemperature',
        startMs: dayMs(47) + 9 * 3_600_000,
        endMs: dayMs(47) + 10 * 3_600_000,
      },
      {
        kind: 'not_available',
        key: 'exhaustTemperature',
        startMs: dayMs(82) + 6 * 3_600_000,
        endMs: dayMs(82) + 7 * 3_600_000,
      },
    ],
  },
  {
    ...common,
    id: 'tipper-04',
    spec: roadEngine({ ...truckEngine, boostControl: 'wastegate', coolerEffectiveness: 0.79, filterDropKpa: 3.4 }),
    duty: tipper,
    sensors: fitSensors(
      [
        ...base,
        'exhaustTemperature',
        'compressorOutletTemperature',
        'chargeAirCoolerDifferentialPressure',
        'airFilterDifferentialPressure',
      ],
      false,
    ),
    startHours: 9_120,
    faults: [
      {
        faultId: 'cac_air_side_fouled',
        growth: { shape: 'linear', onsetMs: dayMs(38), fullMs: dayMs(116) },
        effects: { coolerConductanceFactor: 0.58, coolerDropFactor: 1.9 },
      },
    ],
  },
  {
    ...common,
    id: 'bus-31',
    spec: roadEngine({
      ...truckEngine,
      displacementL: 7.6,
      ratedPowerKw: 210,
      ratedSpeedRpm: 2200,
      idleSpeedRpm: 650,
      designSpeedRpm: 1300,
      designBoostKpa: 155,
      boostControl: 'electronic',
      designShaftRpm: 112_000,
    }),
    duty: cityBus,
    sensors: fitSensors([...base, 'exhaustTemperature'], false),
    startHours: 21_480,
    faults: [
      {
        faultId: 'sensor_im_minus_sink_drift',
        growth: { shape: 'linear', onsetMs: dayMs(52), fullMs: dayMs(116) },
        sensor: { key: 'intakeManifoldTemperature', offset: 8 },
      },
    ],
  },
];
