import type { ChannelKey } from '../../schemas/channel.ts';

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
