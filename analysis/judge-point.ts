import type { ChannelKey, ChannelReading } from '../schemas/channel.ts';
import type { HistoryPoint } from '../schemas/history-point.ts';
import type { SignalKey } from '../schemas/signals.ts';
import type { Context } from './context.ts';
import { channelLimit } from './detection/channel-limit.ts';
import { CHANNEL_RULES, type ChannelRule, channelSignals, channelValue } from './detection/channel-table.ts';
import { addToTick, cusumValue, pointWeight } from './detection/chart.ts';
import { type Drivers, driversOf } from './detection/drivers.ts';
import { extendExpectation, isInEnvelope, predict } from './detection/expectation.ts';
import { addToPool, emptyPool, featuresFor } from './detection/learning.ts';
import { indicatorsOf } from './manipulation/indicators.ts';
import type { SteadyPoint } from './manipulation/steady-window.ts';
import type { ChannelState, UnitState } from './state.ts';

/** A chart this far from its limit counts as quiet: only then may its expectation grow at its edges. */
const QUIET_SHARE = 0.5;

/** Standard deviations within which a value at the edge of the envelope may still join the expectation. */
const BELIEVABLE = 4;

/**
 * Holds one operating point against what the unit is expected to show.
 *
 * @param state - State with the hour of this point already begun.
 * @param steady - The point and the running time at its end.
 * @param context - The unit.
 * @returns The new state and the point as the history keeps it.
 */
export function judgePoint(
  state: UnitState,
  steady: SteadyPoint,
  context: Context,
): { readonly state: UnitState; readonly history: HistoryPoint } {
  const { unit } = context;
  const { point } = steady;
  const indicators = indicatorsOf(point, unit);
  const drivers = driversOf(point, unit);
  const doubted = doubtedSignals(state);
  const channels: { [K in ChannelKey]?: ChannelState } = { ...state.channels };
  const readings: { [K in ChannelKey]?: ChannelReading } = {};
  const toLearn: { [K in ChannelKey]?: number } = {};
  const healthy = isHealthy(state);
  for (const rule of CHANNEL_RULES) {
    const observed = channelValue(rule, { point, indicators, unit });
    if (observed === undefined) continue;
    if (drivers === undefined || channelSignals(rule, unit).some((key) => doubted.has(key))) {
      readings[rule.key] = { observed, judgement: 'excluded' };
      continue;
    }
    const channel = channels[rule.key];
    if (channel === undefined) {
      toLearn[rule.key] = observed;
      readings[rule.key] = { observed, judgement: 'learning' };
      continue;
    }
    const judged = judgeChannel(channel, {
      rule,
      observed,
      drivers,
      context,
      speedRpm: point.signals.engineSpeed?.mean ?? 0,
      mayExtend: healthy,
    });
    channels[rule.key] = judged.channel;
    readings[rule.key] = judged.reading;
  }
  let pool = state.pool;
  if (drivers !== undefined && Object.keys(toLearn).length > 0 && !isGivenUp(state)) {
    pool = addToPool(pool ?? emptyPool({ nowMs: point.fromMs, hour: state.hour }), {
      hour: state.hour,
      drivers,
      values: toLearn,
    });
  }
  return {
    state: { ...state, channels, pool, hourEndMs: point.toMs },
    history: { point, indicators, channels: readings },
  };
}

function judgeChannel(
  channel: ChannelState,
  p: { rule: ChannelRule; observed: number; drivers: Drivers; context: Context; speedRpm: number; mayExtend: boolean },
): { channel: ChannelState; reading: ChannelReading } {
  const features = featuresFor(p.rule, p.drivers)?.values(p.drivers);
  if (features === undefined || features.length !== channel.expectation.coefficients.length) {
    return { channel, reading: { observed: p.observed, judgement: 'excluded' } };
  }
  const prediction = predict(channel.expectation, features);
  if (!isInEnvelope(channel.expectation, p.drivers, prediction)) {
    // Even where it is unsure the expectation says roughly what can be; a wild value is no new season.
    const believable =
      Math.abs(p.observed - prediction.expected) <=
      BELIEVABLE * Math.hypot(channel.expectation.pointSd, Math.sqrt(prediction.variance));
    const expectation =
      p.mayExtend && believable
        ? extendExpectation(channel.expectation, { features, value: p.observed, drivers: p.drivers })
        : channel.expectation;
    return { channel: { ...channel, expectation }, reading: { observed: p.observed, judgement: 'outside' } };
  }
  const limit = channelLimit(p.rule.key, { unit: p.context.unit, speedRpm: p.speedRpm });
  const chart = addToTick(channel.chart, {
    observed: p.observed,
    expected: prediction.expected,
    variance: prediction.variance,
    margin: limit === undefined ? undefined : limit.value - prediction.expected,
    weight: pointWeight({ features: p.rule.features, load: p.drivers.load }),
    load: p.drivers.load,
  });
  return {
    channel: { ...channel, chart },
    reading: {
      observed: p.observed,
      expected: prediction.expected,
      sd: Math.sqrt(channel.expectation.pointSd ** 2 + prediction.variance),
      judgement: 'judged',
      cusum: cusumValue(chart),
    },
  };
}

/** Signals whose sensor is not believed at the moment. */
function doubtedSignals(state: UnitState): ReadonlySet<SignalKey> {
  const doubted = new Set<SignalKey>();
  for (const key in state.sensors)
    if ((state.sensors[key as SignalKey]?.doubt ?? null) !== null) doubted.add(key as SignalKey);
  return doubted;
}

/** No finding is open and every chart is well below its limit: what is new now may be taken as the unit's health. */
function isHealthy(state: UnitState): boolean {
  if (state.findings.some((finding) => finding.detector !== 'plausibility')) return false;
  return Object.values(state.channels).every(
    ({ chart }) => Math.max(chart.cusum.upper.sum, chart.cusum.lower.sum) < QUIET_SHARE * chart.decisionInterval,
  );
}

/** Learning has ended: what is still unlearnt then never had data and is not waited for. */
function isGivenUp(state: UnitState): boolean {
  return state.pool === null && state.ticksPerWeek !== null;
}
