import type { Signature } from './signature.ts';

/** An offset is the same at any load; a drift of the span somewhat less at low load. */
const OFFSET = { share: 0.9, spread: 0.25 } as const;

/** Sensor faults: exactly one measured signal departs, to either side. */
export const SENSOR_SIGNATURES: readonly Signature[] = [
  { lowLoad: OFFSET, cause: 'sensor_boost_drift', appliesTo: 'any', open: { boost: 'either' }, weight: 0.8 },
  {
    lowLoad: OFFSET,
    cause: 'sensor_im_minus_sink_drift',
    appliesTo: 'any',
    open: { chargeAirTemperature: 'either', coolerApproach: 'either' },
    weight: 0.8,
  },
  {
    lowLoad: OFFSET,
    cause: 'sensor_egt_pre_turbine_drift',
    appliesTo: 'any',
    open: { exhaustTemperature: 'either' },
    weight: 0.8,
  },
  {
    lowLoad: OFFSET,
    cause: 'sensor_oil_pressure_drift',
    appliesTo: 'any',
    open: { oilPressure: 'either' },
    weight: 0.8,
  },
  {
    lowLoad: OFFSET,
    cause: 'sensor_compressor_outlet_temperature_drift',
    appliesTo: 'any',
    open: { compressorOutletTemperature: 'either' },
    weight: 0.4,
  },
  {
    lowLoad: OFFSET,
    cause: 'sensor_filter_pressure_drop_drift',
    appliesTo: 'any',
    open: { filterPressureDrop: 'either' },
    weight: 0.4,
  },
  {
    lowLoad: OFFSET,
    cause: 'sensor_cooler_pressure_drop_drift',
    appliesTo: 'any',
    open: { coolerPressureDrop: 'either' },
    weight: 0.4,
  },
  {
    lowLoad: OFFSET,
    cause: 'sensor_turbocharger_speed_drift',
    appliesTo: 'any',
    open: { turbochargerSpeed: 'either' },
    weight: 0.2,
  },
  { lowLoad: OFFSET, cause: 'pressure_reference_mixup', appliesTo: 'any', open: { boost: 'either' }, weight: 0.1 },
];
