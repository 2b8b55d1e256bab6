import type { ChannelKey } from '../../schemas/channel.ts';

/** Which units a cause can happen on. */
export type Applicability =
  | 'any'
  | 'water_cooled'
  | 'wastegate'
  | 'variable_geometry'
  | 'recirculation'
  | 'no_sink_sensor';

/**
 * How the channels move under a cause of moderate size, in their units, at the same fuel rate, speed and air.
 * `undefined` channels stay where they are; `'either'` may go both ways, so they neither speak for nor against it.
 */
export type Effects = { readonly [K in ChannelKey]?: number | 'either' };

/** The signature of a cause: in the open regime (fixed turbine, or the actuator at its stop) and in closed-loop boost. */
export type Signature = {
  readonly cause: string;
  readonly appliesTo: Applicability;
  readonly open: Effects;
  /** Left out where closed-loop control makes no difference. */
  readonly closed?: Effects;
  /** Relative frequency before any evidence. Common practice, no source; the fleet file and verdicts override it. */
  readonly weight: number;
};

const CLOSED_HIDDEN = { actuator: 8, turbineInletPressure: 10 } as const;

/**
 * Sizes are those of a steady-state matching calculation of a 12.7 L engine at 1500 rpm and 150 kPa boost (signs agree
 * with table 5.4.1 of Isermann, Combustion Engine Diagnosis, where it was seen); where the calculation says nothing they
 * are from memory. They show direction and order of size, never a limit: the ranking allows each about a third of its size either way.
 */
export const SIGNATURES: readonly Signature[] = [
  {
    cause: 'boost_leak_after_cooler',
    appliesTo: 'any',
    open: {
      boost: -9,
      exhaustTemperature: 17,
      turbineOutletTemperature: 14,
      compressorOutletTemperature: -5,
      turbochargerSpeed: 'either',
      turbineInletPressure: -6,
      coolerPressureDrop: 0.3,
      filterPressureDrop: 0.1,
    },
    closed: { ...CLOSED_HIDDEN, turbochargerSpeed: 1500 },
    weight: 2,
  },
  {
    cause: 'boost_leak_before_cooler',
    appliesTo: 'any',
    open: {
      boost: -9,
      exhaustTemperature: 17,
      turbineOutletTemperature: 14,
      compressorOutletTemperature: -5,
      turbochargerSpeed: 'either',
      turbineInletPressure: -6,
      coolerPressureDrop: -0.5,
      filterPressureDrop: 0.1,
    },
    closed: { ...CLOSED_HIDDEN },
    weight: 1,
  },
  {
    cause: 'intake_restriction',
    appliesTo: 'any',
    open: {
      boost: -7,
      exhaustTemperature: 14,
      turbineOutletTemperature: 12,
      filterPressureDrop: 3.2,
      compressorOutletTemperature: 0.7,
      turbineInletPressure: -5,
    },
    closed: { ...CLOSED_HIDDEN, filterPressureDrop: 3.2, turbochargerSpeed: 1200, compressorOutletTemperature: 3 },
    weight: 3,
  },
  {
    cause: 'cac_air_side_fouled',
    appliesTo: 'any',
    open: {
      chargeAirTemperature: 13,
      coolerApproach: 13,
      coolerPressureDrop: 6,
      exhaustTemperature: 30,
      turbineOutletTemperature: 25,
      boost: 'either',
      compressorOutletTemperature: 4,
      turbochargerSpeed: 800,
      turbineInletPressure: -3,
    },
    closed: {
      chargeAirTemperature: 13,
      coolerApproach: 13,
      coolerPressureDrop: 6,
      exhaustTemperature: 26,
      turbineOutletTemperature: 22,
      compressorOutletTemperature: 5,
      turbochargerSpeed: 900,
      turbineInletPressure: -3,
      actuator: 4,
    },
    weight: 1.5,
  },
  {
    cause: 'cac_coolant_side_fouled',
    appliesTo: 'any',
    open: {
      chargeAirTemperature: 13,
      coolerApproach: 13,
      exhaustTemperature: 19,
      turbineOutletTemperature: 16,
      boost: 'either',
      compressorOutletTemperature: 3,
      turbochargerSpeed: 400,
    },
    closed: {
      chargeAirTemperature: 13,
      coolerApproach: 13,
      exhaustTemperature: 17,
      turbineOutletTemperature: 15,
      turbineInletPressure: -3,
      actuator: -3,
    },
    weight: 2,
  },
  {
    cause: 'coolant_flow_low',
    appliesTo: 'water_cooled',
    open: {
      chargeAirTemperature: 13,
      coolerApproach: 13,
      exhaustTemperature: 19,
      turbineOutletTemperature: 16,
      boost: 'either',
    },
    weight: 1,
  },
  {
    cause: 'coolant_hot',
    appliesTo: 'no_sink_sensor',
    open: { chargeAirTemperature: 9, exhaustTemperature: 14, boost: 'either' },
    weight: 1,
  },
  {
    cause: 'cac_air_side_flooded',
    appliesTo: 'water_cooled',
    open: { boost: -6, coolerPressureDrop: 5, exhaustTemperature: 12 },
    weight: 0.3,
  },
  {
    cause: 'wastegate_stuck_open',
    appliesTo: 'wastegate',
    open: {
      boost: -20,
      exhaustTemperature: 34,
      turbineOutletTemperature: 30,
      turbochargerSpeed: -4000,
      compressorOutletTemperature: -12,
      turbineInletPressure: -24,
    },
    weight: 1,
  },
  {
    cause: 'wastegate_stuck_closed',
    appliesTo: 'wastegate',
    open: {
      boost: 30,
      turbochargerSpeed: 5000,
      compressorOutletTemperature: 16,
      turbineInletPressure: 34,
      exhaustTemperature: -20,
      turbineOutletTemperature: -22,
    },
    weight: 1,
  },
  {
    cause: 'vgt_stuck_open',
    appliesTo: 'variable_geometry',
    open: {
      boost: -20,
      exhaustTemperature: 34,
      turbineOutletTemperature: 30,
      turbochargerSpeed: -4000,
      compressorOutletTemperature: -12,
      turbineInletPressure: -24,
    },
    weight: 1,
  },
  {
    cause: 'vgt_stuck_closed',
    appliesTo: 'variable_geometry',
    open: {
      boost: 20,
      turbochargerSpeed: 4000,
      compressorOutletTemperature: 12,
      turbineInletPressure: 40,
      exhaustTemperature: 'either',
    },
    weight: 1,
  },
  {
    cause: 'compressor_fouled',
    appliesTo: 'any',
    open: {
      boost: -11.5,
      exhaustTemperature: 24,
      turbineOutletTemperature: 20,
      compressorOutletTemperature: 1.1,
      compressorEfficiency: -0.05,
      turbineInletPressure: -8,
    },
    closed: { ...CLOSED_HIDDEN, compressorOutletTemperature: 6, turbochargerSpeed: 800 },
    weight: 1,
  },
  {
    cause: 'turbine_efficiency_loss',
    appliesTo: 'any',
    open: {
      boost: -10,
      exhaustTemperature: 17,
      turbineOutletTemperature: 18,
      turbochargerSpeed: -2200,
      compressorOutletTemperature: -6,
      turbineInletPressure: -9,
    },
    closed: { ...CLOSED_HIDDEN },
    weight: 0.6,
  },
  {
    cause: 'nozzle_fouled',
    appliesTo: 'any',
    open: { boost: 'either', turbineInletPressure: 12, turbochargerSpeed: 'either', exhaustTemperature: 'either' },
    weight: 0.4,
  },
  {
    cause: 'exhaust_leak_before_turbine',
    appliesTo: 'any',
    open: {
      boost: -6,
      exhaustTemperature: 11,
      turbineOutletTemperature: 10,
      turbochargerSpeed: -1400,
      compressorOutletTemperature: -4,
      turbineInletPressure: -8,
    },
    closed: { ...CLOSED_HIDDEN },
    weight: 0.8,
  },
  {
    cause: 'exhaust_back_pressure_high',
    appliesTo: 'any',
    open: {
      boost: -9,
      exhaustTemperature: 16,
      turbineOutletTemperature: 21,
      turbochargerSpeed: -2200,
      compressorOutletTemperature: -6,
    },
    closed: { ...CLOSED_HIDDEN },
    weight: 0.8,
  },
  {
    cause: 'bearing_wear_or_rub',
    appliesTo: 'any',
    open: {
      boost: -8,
      exhaustTemperature: 14,
      turbochargerSpeed: -2000,
      compressorOutletTemperature: -5,
      turbineInletPressure: -8,
      turbochargerOilTemperature: 8,
      oilPressure: 'either',
    },
    closed: { ...CLOSED_HIDDEN, turbochargerOilTemperature: 8, oilPressure: 'either' },
    weight: 0.5,
  },
  { cause: 'oil_supply_low', appliesTo: 'any', open: { oilPressure: -40, turbochargerOilTemperature: 2 }, weight: 2 },
  {
    cause: 'oil_drain_restricted_or_seal_leak',
    appliesTo: 'any',
    open: { turbochargerOilTemperature: 6, crankcasePressure: 0.6, coolerPressureDrop: 'either' },
    weight: 0.3,
  },
  {
    cause: 'fuel_delivery_low',
    appliesTo: 'any',
    open: {
      boost: -9,
      exhaustTemperature: -20,
      turbineOutletTemperature: -16,
      turbochargerSpeed: -2000,
      compressorOutletTemperature: -6,
      turbineInletPressure: -8,
    },
    closed: { exhaustTemperature: -16, turbineOutletTemperature: -13, ...CLOSED_HIDDEN },
    weight: 1,
  },
  {
    cause: 'injection_late',
    appliesTo: 'any',
    open: {
      boost: 6,
      exhaustTemperature: 22,
      turbineOutletTemperature: 18,
      turbochargerSpeed: 1200,
      compressorOutletTemperature: 4,
      turbineInletPressure: 6,
    },
    closed: { exhaustTemperature: 20, turbineOutletTemperature: 16, turbineInletPressure: -5, actuator: -4 },
    weight: 0.5,
  },
  {
    cause: 'overfuelling_or_injector_leak',
    appliesTo: 'any',
    open: {
      boost: 8,
      exhaustTemperature: 24,
      turbineOutletTemperature: 20,
      turbochargerSpeed: 1500,
      compressorOutletTemperature: 5,
      turbineInletPressure: 8,
    },
    closed: { exhaustTemperature: 22, turbineOutletTemperature: 18, turbineInletPressure: -5, actuator: -4 },
    weight: 0.8,
  },
  {
    cause: 'volumetric_efficiency_loss',
    appliesTo: 'any',
    open: {
      exhaustTemperature: 18,
      turbineOutletTemperature: 15,
      turbineInletPressure: -6,
      crankcasePressure: 'either',
    },
    weight: 0.5,
  },
  {
    cause: 'egr_excess',
    appliesTo: 'recirculation',
    open: { boost: 'either', chargeAirTemperature: 8, coolerApproach: 8, exhaustTemperature: 'either' },
    weight: 0.8,
  },
  // Sensor faults: exactly one measured signal departs.
  { cause: 'sensor_boost_drift', appliesTo: 'any', open: { boost: 'either' }, weight: 0.8 },
  {
    cause: 'sensor_im_minus_sink_drift',
    appliesTo: 'any',
    open: { chargeAirTemperature: 'either', coolerApproach: 'either' },
    weight: 0.8,
  },
  { cause: 'sensor_egt_pre_turbine_drift', appliesTo: 'any', open: { exhaustTemperature: 'either' }, weight: 0.8 },
  { cause: 'sensor_oil_pressure_drift', appliesTo: 'any', open: { oilPressure: 'either' }, weight: 0.8 },
  {
    cause: 'sensor_compressor_outlet_temperature_drift',
    appliesTo: 'any',
    open: { compressorOutletTemperature: 'either' },
    weight: 0.4,
  },
  { cause: 'sensor_filter_pressure_drop_drift', appliesTo: 'any', open: { filterPressureDrop: 'either' }, weight: 0.4 },
  { cause: 'sensor_cooler_pressure_drop_drift', appliesTo: 'any', open: { coolerPressureDrop: 'either' }, weight: 0.4 },
  { cause: 'sensor_turbocharger_speed_drift', appliesTo: 'any', open: { turbochargerSpeed: 'either' }, weight: 0.2 },
  { cause: 'pressure_reference_mixup', appliesTo: 'any', open: { boost: 'either' }, weight: 0.1 },
];

/**
 * Channels whose departures enter the likelihood. Effectiveness and compressor efficiency are computed from the others;
 * counting them again would make the ranking too sure of itself.
 */
export const EVIDENCE_CHANNELS: readonly ChannelKey[] = [
  'boost',
  'coolerApproach',
  'chargeAirTemperature',
  'compressorOutletTemperature',
  'coolerPressureDrop',
  'filterPressureDrop',
  'exhaustTemperature',
  'turbineOutletTemperature',
  'turbineInletPressure',
  'turbochargerSpeed',
  'actuator',
  'oilPressure',
  'turbochargerOilTemperature',
  'crankcasePressure',
];

/** Size of a moderate departure of each channel, in its unit: what 'either' and the allowance for odd engines mean. */
export const TYPICAL_DEPARTURE: { readonly [K in ChannelKey]: number } = {
  boost: 10,
  chargeAirTemperature: 10,
  coolerApproach: 10,
  coolerEffectiveness: 0.08,
  coolerPressureDrop: 3,
  filterPressureDrop: 2,
  compressorOutletTemperature: 7,
  compressorEfficiency: 0.04,
  exhaustTemperature: 20,
  turbineOutletTemperature: 18,
  turbineInletPressure: 12,
  turbochargerSpeed: 2500,
  actuator: 7,
  oilPressure: 35,
  turbochargerOilTemperature: 6,
  crankcasePressure: 0.5,
};
