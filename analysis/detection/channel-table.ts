import type { ChannelKey } from '../../schemas/channel.ts';
import type { FindingKind } from '../../schemas/finding.ts';
import type { IndicatorKey, Indicators } from '../../schemas/indicator.ts';
import type { OperatingPoint } from '../../schemas/operating-point.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import { sensorUncertainty, type Unit } from '../../schemas/unit.ts';
import { sinkSignal } from '../manipulation/air-and-sink.ts';

/** How a channel is read, learnt and watched. */
export type ChannelRule = {
  readonly key: ChannelKey;
  /** What it is read from: the first of these signals that is fitted, or an indicator. */
  readonly from: { readonly signals: readonly SignalKey[] } | { readonly indicator: IndicatorKey };
  readonly features: 'gas_path' | 'oil';
  /** What it moves through between idle and full load, in its unit: scales the prior of the regression. */
  readonly span: number;
  /**
   * Spread of an hour's mean below which nothing is worth a fitter's time: sensors age and seasons turn by so much. A
   * lasting departure of less than three quarters of it never becomes a finding, however surely it is measured.
   */
  readonly leastSd: number;
  /** The same as a share of what the channel shows at load; the larger of the two counts. */
  readonly leastShare?: number;
  /** Findings raised when it departs upwards and downwards; a side without a kind is evidence only. */
  readonly up?: FindingKind;
  readonly down?: FindingKind;
};

/** All channels. Spans are orders of size from common practice, no source; the prior is wide and the data decide. */
export const CHANNEL_RULES: readonly ChannelRule[] = [
  {
    key: 'boost',
    from: { signals: ['boostPressure'] },
    features: 'gas_path',
    span: 150,
    leastSd: 2,
    leastShare: 0.022,
    up: 'overboost',
    down: 'boost_shortfall',
  },
  {
    key: 'chargeAirTemperature',
    from: { signals: ['intakeManifoldTemperature', 'chargeAirCoolerOutletTemperature'] },
    features: 'gas_path',
    span: 40,
    leastSd: 1.2,
    up: 'charge_air_temperature_rise',
  },
  {
    key: 'coolerApproach',
    from: { indicator: 'coolerApproach' },
    features: 'gas_path',
    span: 40,
    leastSd: 1.2,
    up: 'cooler_fouling',
  },
  {
    key: 'coolerEffectiveness',
    from: { indicator: 'coolerEffectiveness' },
    features: 'gas_path',
    span: 0.3,
    leastSd: 0.01,
    down: 'cooler_fouling',
  },
  {
    key: 'coolerPressureDrop',
    from: { signals: ['chargeAirCoolerDifferentialPressure'] },
    features: 'gas_path',
    span: 12,
    leastSd: 0.4,
    leastShare: 0.05,
    up: 'cooler_fouling',
  },
  {
    key: 'filterPressureDrop',
    from: { signals: ['airFilterDifferentialPressure'] },
    features: 'gas_path',
    span: 5,
    leastSd: 0.25,
    leastShare: 0.05,
    up: 'intake_restriction',
  },
  {
    key: 'compressorOutletTemperature',
    from: { signals: ['compressorOutletTemperature'] },
    features: 'gas_path',
    span: 120,
    leastSd: 1.5,
  },
  {
    key: 'compressorEfficiency',
    from: { indicator: 'compressorIsentropicEfficiency' },
    features: 'gas_path',
    span: 0.2,
    leastSd: 0.006,
    down: 'compressor_efficiency_loss',
  },
  {
    key: 'exhaustTemperature',
    from: { signals: ['exhaustTemperature', 'turbineInletTemperature'] },
    features: 'gas_path',
    span: 350,
    leastSd: 8,
    up: 'exhaust_temperature_high',
  },
  {
    key: 'turbineOutletTemperature',
    from: { signals: ['turbineOutletTemperature'] },
    features: 'gas_path',
    span: 250,
    leastSd: 8,
  },
  {
    key: 'turbineInletPressure',
    from: { signals: ['turbineInletPressure'] },
    features: 'gas_path',
    span: 150,
    leastSd: 2.5,
    leastShare: 0.015,
  },
  {
    key: 'turbochargerSpeed',
    from: { signals: ['turbochargerSpeed'] },
    features: 'gas_path',
    span: 60_000,
    leastSd: 600,
    leastShare: 0.01,
  },
  {
    key: 'actuator',
    from: { signals: ['vgtPosition', 'vgtCommand', 'wastegateCommand'] },
    features: 'gas_path',
    span: 60,
    leastSd: 1.5,
  },
  {
    key: 'oilPressure',
    from: { signals: ['oilPressure', 'turbochargerOilPressure'] },
    features: 'oil',
    span: 300,
    leastSd: 10,
    leastShare: 0.03,
    down: 'low_oil_pressure',
  },
  {
    key: 'turbochargerOilTemperature',
    from: { signals: ['turbochargerOilTemperature'] },
    features: 'oil',
    span: 40,
    leastSd: 1.5,
  },
  { key: 'crankcasePressure', from: { signals: ['crankcasePressure'] }, features: 'gas_path', span: 2, leastSd: 0.15 },
];

/** Signals that an indicator channel rests on, for judging whether its sensors are believed. */
const INDICATOR_SIGNALS: { readonly [K in IndicatorKey]?: readonly SignalKey[] } = {
  coolerApproach: ['intakeManifoldTemperature', 'chargeAirCoolerOutletTemperature'],
  coolerEffectiveness: ['intakeManifoldTemperature', 'chargeAirCoolerOutletTemperature', 'compressorOutletTemperature'],
  compressorIsentropicEfficiency: ['compressorOutletTemperature', 'boostPressure'],
};

/** Smallest believable spread of an indicator at one point. Common practice, no source. */
const INDICATOR_MIN_SD: { readonly [K in IndicatorKey]?: number } = {
  coolerApproach: 0.3,
  coolerEffectiveness: 0.003,
  compressorIsentropicEfficiency: 0.003,
};

/** Every signal that a channel rests on for this unit. */
export function channelSignals(rule: ChannelRule, unit: Unit): readonly SignalKey[] {
  if ('signals' in rule.from) return rule.from.signals.filter((key) => unit.sensors[key] !== undefined).slice(0, 1);
  const own = (INDICATOR_SIGNALS[rule.from.indicator] ?? []).filter((key) => unit.sensors[key] !== undefined);
  const sink = rule.from.indicator.startsWith('cooler') ? sinkSignal(unit) : undefined;
  return sink === undefined ? own : [...own, sink];
}

/** How many sensors an indicator channel needs. */
const INDICATOR_NEEDS: { readonly [K in ChannelKey]?: number } = {
  coolerApproach: 2,
  coolerEffectiveness: 3,
  compressorEfficiency: 2,
};

/** Whether a unit has the sensors that a channel needs. */
export function isFitted(rule: ChannelRule, unit: Unit): boolean {
  return channelSignals(rule, unit).length >= ('indicator' in rule.from ? (INDICATOR_NEEDS[rule.key] ?? 1) : 1);
}

/**
 * Value of a channel at a point.
 *
 * @returns In the channel's unit; `undefined` where the sensor is not fitted, not available at this point, or the
 *   indicator is absent.
 */
export function channelValue(
  rule: ChannelRule,
  p: { point: OperatingPoint; indicators: Indicators; unit: Unit },
): number | undefined {
  if ('signals' in rule.from) {
    const key = channelSignals(rule, p.unit)[0];
    return key === undefined ? undefined : p.point.signals[key]?.mean;
  }
  const indicator = p.indicators[rule.from.indicator];
  return indicator === undefined || 'absent' in indicator ? undefined : indicator.value;
}

/**
 * Smallest believable spread of one point of a channel: a steady window averages noise away, but never below a tenth
 * of the sensor's own uncertainty.
 */
export function channelMinSd(rule: ChannelRule, unit: Unit): number {
  if ('indicator' in rule.from) return INDICATOR_MIN_SD[rule.from.indicator] ?? 0.01;
  const key = channelSignals(rule, unit)[0];
  return key === undefined ? 1 : 0.1 * sensorUncertainty(unit, key);
}
