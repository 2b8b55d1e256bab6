import type { Cause } from '../../schemas/finding.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import type { Unit } from '../../schemas/unit.ts';

type Separation = {
  readonly between: readonly [readonly string[], readonly string[]];
  /** A sensor that would tell them apart by itself, and the check that does it today. */
  readonly sensor?: SignalKey;
  readonly check: string;
};

const LEAKS = ['boost_leak_after_cooler', 'boost_leak_before_cooler'] as const;
const TURBINE_SIDE = [
  'wastegate_stuck_open',
  'vgt_stuck_open',
  'exhaust_leak_before_turbine',
  'turbine_efficiency_loss',
  'bearing_wear_or_rub',
  'exhaust_back_pressure_high',
] as const;
const SENSORS = [
  'sensor_boost_drift',
  'sensor_im_minus_sink_drift',
  'sensor_egt_pre_turbine_drift',
  'sensor_oil_pressure_drift',
  'sensor_compressor_outlet_temperature_drift',
  'sensor_filter_pressure_drop_drift',
  'sensor_cooler_pressure_drop_drift',
  'sensor_turbocharger_speed_drift',
  'pressure_reference_mixup',
] as const;

/**
 * What tells two causes apart. Pairs and sensors follow a steady-state matching calculation in which two causes count
 * as separable when their residual directions differ by 20 degrees; the hand checks are common practice, no source.
 */
const SEPARATIONS: readonly Separation[] = [
  {
    between: [['intake_restriction'], ['compressor_fouled', ...LEAKS, ...TURBINE_SIDE]],
    sensor: 'airFilterDifferentialPressure',
    check: 'Read the filter pressure drop at full load with a manometer: raised means the intake, normal rules it out.',
  },
  {
    between: [LEAKS, ['compressor_fouled', ...TURBINE_SIDE]],
    sensor: 'chargeAirCoolerDifferentialPressure',
    check:
      'Pressure-hold test of the charge-air path from compressor outlet to manifold: a leak shows, the others hold.',
  },
  {
    between: [['boost_leak_before_cooler'], ['boost_leak_after_cooler']],
    check: 'Soap the hoses and clamps before and after the cooler during the hold test.',
  },
  {
    between: [['cac_air_side_fouled'], ['cac_coolant_side_fouled', 'coolant_flow_low']],
    sensor: 'chargeAirCoolerDifferentialPressure',
    check: 'Measure the air-side pressure drop over the cooler at one load: raised means the air side.',
  },
  {
    between: [['cac_coolant_side_fouled'], ['coolant_flow_low']],
    sensor: 'coolerWaterOutletTemperature',
    check: 'Measure the cooling medium in and out: a larger rise means too little flow, a smaller one fouled surfaces.',
  },
  {
    between: [['cac_air_side_fouled', 'cac_coolant_side_fouled', 'coolant_flow_low'], ['coolant_hot']],
    sensor: 'coolerWaterInletTemperature',
    check: 'Measure the cooling medium at the cooler inlet: hot medium is no cooler fault.',
  },
  {
    between: [['cac_air_side_fouled', 'cac_coolant_side_fouled', 'coolant_flow_low'], ['egr_excess']],
    sensor: 'chargeAirCoolerOutletTemperature',
    check: 'Measure right after the cooler, before exhaust is mixed in: normal there means the recirculation valve.',
  },
  {
    between: [['compressor_fouled'], TURBINE_SIDE],
    sensor: 'compressorOutletTemperature',
    check: 'Measure the compressor outlet temperature at one load: high for the pressure means the compressor.',
  },
  {
    between: [['exhaust_back_pressure_high'], TURBINE_SIDE.filter((cause) => cause !== 'exhaust_back_pressure_high')],
    check: 'Gauge after the turbine at full load: raised means silencer, filter or flap.',
  },
  {
    between: [['exhaust_leak_before_turbine'], TURBINE_SIDE.filter((cause) => cause !== 'exhaust_leak_before_turbine')],
    check: 'Cold engine: look for soot streaks on manifold joints and the turbine inlet.',
  },
  {
    between: [['bearing_wear_or_rub'], TURBINE_SIDE.filter((cause) => cause !== 'bearing_wear_or_rub')],
    sensor: 'turbochargerOilTemperature',
    check: 'Engine cold and locked out: end float and radial play with a dial indicator, then spin by hand and listen.',
  },
  {
    between: [
      ['wastegate_stuck_open', 'vgt_stuck_open'],
      ['turbine_efficiency_loss', 'exhaust_leak_before_turbine'],
    ],
    sensor: 'vgtPosition',
    check: 'Move the boost actuator through its travel by hand or regulated air and watch whether it seats.',
  },
  {
    between: [['overfuelling_or_injector_leak'], ['injection_late', 'volumetric_efficiency_loss']],
    check: 'Compare the cylinders by exhaust temperature or cut-out test: one cylinder apart means an injector.',
  },
  {
    between: [['oil_supply_low'], ['bearing_wear_or_rub']],
    sensor: 'turbochargerOilPressure',
    check: 'Gauge at the turbocharger oil inlet, hot idle and rated speed, and write down the oil temperature.',
  },
];

/** How often a sensor cause may lead before its standstill check goes first. */
const MOST_CHECKS = 4;

/**
 * The checks that would tell the leading causes apart, most useful first: each pair of leading causes is weighed by the
 * product of its probabilities, so the check that settles the most doubt comes first.
 *
 * @param causes - Ranked causes with probabilities.
 * @param unit - Decides whether a sensor is already fitted; one that is not is named as a further buy.
 * @returns At most four sentences; none when one cause stands alone.
 */
export function separatingChecks(causes: readonly Cause[], unit: Unit): readonly string[] {
  const gains = new Map<string, number>();
  const add = (check: string, gain: number) => gains.set(check, (gains.get(check) ?? 0) + gain);
  const isSensor = (cause: string) => (SENSORS as readonly string[]).includes(cause);
  causes.forEach((first, index) => {
    for (const second of causes.slice(index + 1)) {
      const gain = first.probability * second.probability;
      if (isSensor(first.cause) || isSensor(second.cause)) {
        add(
          'Read the sensor with the engine cold and stopped (pressures at zero gauge, temperatures at ambient), then against a reference gauge.',
          gain,
        );
      }
      for (const separation of SEPARATIONS) {
        const [left, right] = separation.between;
        const told =
          (left.includes(first.cause) && right.includes(second.cause)) ||
          (left.includes(second.cause) && right.includes(first.cause));
        if (!told) continue;
        const fitted = separation.sensor !== undefined && unit.sensors[separation.sensor] !== undefined;
        add(separation.check, fitted ? gain / 2 : gain);
      }
    }
  });
  return [...gains.entries()]
    .sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1))
    .slice(0, MOST_CHECKS)
    .map(([check]) => check);
}
