import { CHANNELS, type ChannelKey } from '../../schemas/channel.ts';
import type { Cause, Finding, Limit, Severity } from '../../schemas/finding.ts';
import { SIGNALS, type SignalKey } from '../../schemas/signals.ts';
import type { Context } from '../context.ts';
import { channelLimit } from '../detection/channel-limit.ts';
import { departureSince } from '../detection/chart.ts';
import type { LimitEvent } from '../detection/hard-limits.ts';
import type { SensorEvent } from '../manipulation/plausibility.ts';
import { forecastLimit, type LimitForecast } from '../prognosis/limit-forecast.ts';
import type { ChannelState, OpenFinding, UnitState } from '../state.ts';
import { groupCauses } from './cause-groups.ts';
import { gradeDeparture } from './grade.ts';
import { type Departure, type Departures, rankCauses } from './rank-causes.ts';
import { departureSentence, limitSentence, sensorSentence } from './sentence.ts';
import { separatingChecks } from './separating-checks.ts';

/** Channels that a hard limit speaks about. */
const LIMIT_CHANNEL: { readonly [K in SignalKey]?: ChannelKey } = {
  boostPressure: 'boost',
  intakeManifoldTemperature: 'chargeAirTemperature',
  chargeAirCoolerOutletTemperature: 'chargeAirTemperature',
  exhaustTemperature: 'exhaustTemperature',
  turbineInletTemperature: 'exhaustTemperature',
  oilPressure: 'oilPressure',
  turbochargerOilPressure: 'oilPressure',
  airFilterDifferentialPressure: 'filterPressureDrop',
};

/** Departures of all charts since an onset: the pattern that the causes are ranked by. */
export function departuresSince(state: UnitState, sinceMs: number): Departures {
  const departures: { [K in ChannelKey]?: Departure } = {};
  for (const [key, channel] of Object.entries(state.channels) as [ChannelKey, ChannelState][]) {
    const found = departureSince(channel.chart, { sinceMs, correlation: channel.expectation.tickCorrelation });
    if (found !== undefined) departures[key] = found;
  }
  return departures;
}

/**
 * The finding of a chart, as it stands now.
 *
 * @param p.open - The finding's fixed facts: id, kind, onset.
 * @param p.state - Charts of all channels.
 * @param p.atMs - Time of this report.
 * @returns The finding, or `undefined` when its channel has no judged hour since the onset.
 */
export function chartFinding(p: {
  readonly open: OpenFinding;
  readonly state: UnitState;
  readonly context: Context;
  readonly atMs: number;
}): Finding | undefined {
  const { open, state, context } = p;
  const key = open.subject as ChannelKey;
  const channel = state.channels[key];
  if (channel === undefined) return undefined;
  const since = departureSince(channel.chart, {
    sinceMs: open.sinceMs,
    correlation: channel.expectation.tickCorrelation,
  });
  if (since === undefined) return undefined;
  const departures = departuresSince(state, open.sinceMs);
  const causes = rankCauses({ departures, subject: key, unit: context.unit, learnt: state.learntWeights });
  const expected = expectedNow(channel);
  const limit = limitOf({ key, channel, open, context, ticksPerWeek: state.ticksPerWeek });
  const severity = gradeDeparture({
    channel: key,
    departure: since.departure,
    expected: expected ?? since.departure,
    hoursToLimit: limit?.hoursToLimit?.lower,
    exceeded: limit?.exceeded ?? false,
  });
  return {
    ...frame({ ...p, departures, severity, causes }),
    evidence: {
      observed: (expected ?? 0) + since.departure,
      ...(expected === undefined ? {} : { expected }),
      departure: since.departure,
      departureStandardUncertainty: since.standardUncertainty,
      unit: CHANNELS[key].unit,
      points: since.hours,
      pattern: patternOf(departures),
      sentence: departureSentence({
        channel: key,
        departure: since.departure,
        standardUncertainty: since.standardUncertainty,
        expected,
        hours: since.hours,
      }),
    },
    ...(limit === undefined ? {} : { limit }),
  };
}

/** The finding of a passed limit. */
export function limitFinding(p: {
  readonly open: OpenFinding;
  readonly event: LimitEvent;
  readonly state: UnitState;
  readonly context: Context;
}): Finding {
  const { event, state, context } = p;
  const departures = departuresSince(state, event.sinceMs - RECENT_MS);
  const own = LIMIT_CHANNEL[event.signal];
  const evidence = own === undefined ? departures : withPassedLimit(departures, { own, event });
  const { unit } = SIGNALS[event.signal];
  const source = context.unit.limits.source;
  const causes = rankCauses({ departures: evidence, subject: own, unit: context.unit, learnt: state.learntWeights });
  return {
    ...frame({ ...p, departures: evidence, atMs: event.atMs, severity: 'high', causes }),
    evidence: {
      observed: event.worst,
      unit,
      points: 0,
      pattern: patternOf(departures),
      sentence: limitSentence({ signal: event.signal, worst: event.worst, limit: event.limit, source }),
    },
    limit: { value: event.limit, unit, source, exceeded: true },
  };
}

/** The finding of a sensor that is not believed. */
export function sensorFinding(p: {
  readonly open: OpenFinding;
  readonly event: SensorEvent;
  readonly state: UnitState;
  readonly context: Context;
}): Finding {
  const { event, state } = p;
  const observed = state.sensors[event.signal]?.value ?? 0;
  const mixedUp = event.doubt === 'reads_absolute' || event.doubt === 'reads_gauge';
  const cause = mixedUp ? 'pressure_reference_mixup' : `sensor_${event.doubt}`;
  return {
    ...frame({
      ...p,
      departures: {},
      atMs: event.atMs,
      severity: SAFETY_SENSORS.includes(event.signal) ? 'medium' : 'low',
      causes: [
        { cause, probability: SENSOR_CERTAINTY },
        { cause: 'unknown', probability: Number((1 - SENSOR_CERTAINTY).toFixed(3)) },
      ],
    }),
    evidence: { observed, unit: SIGNALS[event.signal].unit, points: 0, pattern: {}, sentence: sensorSentence(event) },
  };
}

/**
 * A passed limit says itself which way its channel has gone, and by how much at least: a healthy engine stays within its
 * limits. Short excursions hardly move the hourly means, so the larger of the two departures counts.
 */
export function withPassedLimit(
  departures: Departures,
  p: { own: ChannelKey; event: Pick<LimitEvent, 'worst' | 'limit'> },
): Departures {
  const beyond = p.event.worst - p.event.limit;
  const known = departures[p.own];
  if (known !== undefined && known.departure * beyond > 0 && Math.abs(known.departure) >= Math.abs(beyond))
    return departures;
  return {
    ...departures,
    [p.own]: { departure: beyond, standardUncertainty: Math.abs(p.event.limit) * LIMIT_UNCERTAINTY_RATIO },
  };
}

/** Hours before a passed limit that still belong to its pattern. */
export const RECENT_MS = 24 * 3_600_000;
/** How near to its limit a healthy engine runs is not known better than this. Common practice, no source. */
const LIMIT_UNCERTAINTY_RATIO = 0.03;
/** A flat line or a missing value is nearly always the sensor, its wiring or its set-up. Common practice, no source. */
const SENSOR_CERTAINTY = 0.9;
/** Sensors that protect the engine. */
const SAFETY_SENSORS: readonly SignalKey[] = ['oilPressure', 'turbochargerOilPressure', 'exhaustTemperature'];

function frame(p: {
  departures: Departures;
  open: OpenFinding;
  state: UnitState;
  context: Context;
  atMs: number;
  severity: Severity;
  causes: readonly Cause[];
}) {
  const { open, context, causes } = p;
  return {
    version: 1 as const,
    id: open.id,
    unit: context.unit.id,
    kind: open.kind,
    detector: open.detector,
    sinceMs: open.sinceMs,
    atMs: open.atMs,
    updatedAtMs: p.atMs,
    state: 'open' as const,
    severity: p.severity,
    subject: open.subject,
    causes: [...causes],
    causeGroups: [...groupCauses(causes, { departures: p.departures, unit: context.unit })],
    separatingChecks: [...separatingChecks(causes, context.unit)],
    troubleCodes: [...p.state.troubleCodes],
  };
}

/** Running hours left, and the same in days by the unit's own use. */
function timeLeft(forecast: LimitForecast, ticksPerWeek: number | null): Pick<Limit, 'hoursToLimit' | 'daysToLimit'> {
  const { hoursToLimit } = forecast;
  if (hoursToLimit === undefined) return {};
  if (ticksPerWeek === null) return { hoursToLimit };
  const days = (hours: number) => Number(((hours / ticksPerWeek) * 7).toFixed(1));
  const { estimate, lower, upper, confidence } = hoursToLimit;
  return {
    hoursToLimit,
    daysToLimit: { estimate: days(estimate), lower: days(lower), upper: days(upper), confidence },
  };
}

function limitOf(p: {
  ticksPerWeek: number | null;
  key: ChannelKey;
  channel: ChannelState;
  open: OpenFinding;
  context: Context;
}): Limit | undefined {
  const { unit } = p.context;
  const limit = channelLimit(p.key, { unit, speedRpm: unit.engine.ratedSpeedRpm });
  if (limit === undefined || limit.side !== p.open.side) return undefined;
  const forecast = forecastLimit({
    chart: p.channel.chart,
    sinceMs: p.open.sinceMs,
    side: limit.side,
    correlation: p.channel.expectation.tickCorrelation,
  });
  return {
    value: limit.value,
    unit: CHANNELS[p.key].unit,
    source: unit.limits.source,
    exceeded: forecast.exceeded,
    ...timeLeft(forecast, p.ticksPerWeek),
  };
}

/** Middle of what was expected over the newest hours. */
function expectedNow(channel: ChannelState): number | undefined {
  const expected = channel.chart.ticks.slice(-12).map(([, , , , expected]) => expected);
  if (expected.length === 0) return undefined;
  return expected.reduce((sum, value) => sum + value, 0) / expected.length;
}

function patternOf(departures: Departures): { [K in ChannelKey]?: number } {
  const pattern: { [K in ChannelKey]?: number } = {};
  for (const [key, entry] of Object.entries(departures) as [
    ChannelKey,
    { departure: number; standardUncertainty: number },
  ][]) {
    pattern[key] = Number((entry.departure / entry.standardUncertainty).toFixed(2));
  }
  return pattern;
}
