import { CHANNEL_KEYS, type ChannelKey } from '../../schemas/channel.ts';
import type { Cause, Finding } from '../../schemas/finding.ts';
import { isSignalKey } from '../../schemas/signals.ts';
import type { Unit } from '../../schemas/unit.ts';
import { signalChannel } from '../detection/signal-channel.ts';
import type { UnitState } from '../state.ts';
import { isBoostRegulated } from './boost-regime.ts';
import { departuresSince, RECENT_MS, withPassedLimit } from './build-finding.ts';
import { type Departures, scoreCauses } from './rank-causes.ts';
import type { Effects, Signature } from './signature.ts';
import { SIGNATURES } from './signatures.ts';

/** One channel of the pattern: how far it has gone since the onset, and how surely that is known. */
export type PatternEntry = {
  readonly channel: ChannelKey;
  readonly departure: number;
  readonly standardUncertainty: number;
};

/** What one channel says of one cause. */
export type ChannelSpeech = PatternEntry & {
  /** What the cause would show there at its fitted size, in the channel's unit; 0 where it moves nothing. */
  readonly signature: number | 'either';
  /**
   * Logarithm of how much more (or, below 0, less) likely this channel is under the cause than under 'unknown', given
   * the others: 0 says nothing (as a channel that is computed from others), 2.3 speaks ten to one for it. `undefined`
   * where the cause could not be judged without it.
   */
  readonly logLikelihood: number | undefined;
};

/** Why a cause is as probable as it is. */
export type CauseExplanation = Cause & {
  /** Size that fits the pattern best, as a multiple of the signature's moderate size; `undefined` where nothing scales. */
  readonly fittedSize: number | undefined;
  /** Whether the signature is that of boost under closed-loop control. */
  readonly closedLoop: boolean;
  readonly channels: readonly ChannelSpeech[];
};

/** A finding taken apart, as far as the state of the analysis carries it. */
export type Explanation = {
  /** The channel it is about; `undefined` for a sensor that no channel is read from. */
  readonly channel: ChannelKey | undefined;
  readonly expectation?: {
    /** Operating points it rests on, and the load and speed seen, as shares of rated. */
    readonly points: number;
    readonly load: readonly [number, number];
    readonly speed: readonly [number, number];
    readonly pointSd: number;
    readonly hourSd: number;
    readonly hourCorrelation: number;
    readonly decisionInterval: number;
  };
  readonly pattern: readonly PatternEntry[];
  readonly causes: readonly CauseExplanation[];
};

/** Share by which an engine differs from a calculated signature; as in the ranking of causes. */
const EFFECT_SPREAD_RATIO = 0.35;
/** Fitted sizes are kept within what the ranking tries. */
const SIZE_RANGE = [0.2, 5] as const;

/**
 * Takes a finding apart: the expectation, the pattern of departures, and what each channel says of each leading cause.
 *
 * @param p.finding - The report.
 * @param p.state - The analysis as it stood when the report was made.
 * @param p.unit - As the fleet file has it.
 */
export function explainFinding(p: {
  readonly finding: Finding;
  readonly state: UnitState;
  readonly unit: Unit;
}): Explanation {
  const { finding, state, unit } = p;
  const channel = channelOf(finding.subject);
  const learnt = channel === undefined ? undefined : state.channels[channel];
  const departures = evidenceOf(finding, { state, channel });
  const pattern = CHANNEL_KEYS.flatMap((key): PatternEntry[] => {
    const entry = departures[key];
    return entry === undefined
      ? []
      : [{ channel: key, departure: entry.departure, standardUncertainty: entry.standardUncertainty }];
  });
  const question = { departures, subject: channel, unit, learnt: state.learntWeights };
  return {
    channel,
    ...(learnt === undefined
      ? {}
      : {
          expectation: {
            points: learnt.expectation.points,
            ...learnt.expectation.envelope,
            pointSd: learnt.expectation.pointSd,
            hourSd: learnt.expectation.tickSd,
            hourCorrelation: learnt.expectation.tickCorrelation,
            decisionInterval: learnt.chart.decisionInterval,
          },
        }),
    pattern,
    causes: finding.causes.map((cause) => explainCause(cause, { pattern, question })),
  };
}

/** The channel that a finding's subject is, or is read into. */
export function channelOf(subject: string): ChannelKey | undefined {
  const channel = CHANNEL_KEYS.find((key) => key === subject);
  return channel ?? (isSignalKey(subject) ? signalChannel(subject) : undefined);
}

/** The departures that the report's ranking was made from. */
function evidenceOf(finding: Finding, p: { state: UnitState; channel: ChannelKey | undefined }): Departures {
  if (finding.detector === 'plausibility') return {};
  if (finding.detector === 'cusum') return departuresSince(p.state, finding.sinceMs);
  const departures = departuresSince(p.state, finding.sinceMs - RECENT_MS);
  if (p.channel === undefined || finding.limit === undefined) return departures;
  const event = { worst: finding.evidence.observed, limit: finding.limit.value };
  return withPassedLimit(departures, { own: p.channel, event });
}

function explainCause(
  cause: Cause,
  p: { pattern: readonly PatternEntry[]; question: Parameters<typeof scoreCauses>[0] },
): CauseExplanation {
  const signature = SIGNATURES.find((one) => one.cause === cause.cause);
  const fitted = signature === undefined ? undefined : bestFit(signature, p);
  const whole = advantage(cause.cause, p.question);
  return {
    ...cause,
    fittedSize: fitted?.size,
    closedLoop: fitted?.closedLoop ?? false,
    channels: p.pattern.map((entry) => {
      const effect = fitted?.effects[entry.channel] ?? 0;
      const without = advantage(cause.cause, {
        ...p.question,
        departures: withoutChannel(p.question.departures, entry.channel),
      });
      return {
        ...entry,
        signature: effect === 'either' ? effect : effect * (fitted?.size ?? 0),
        logLikelihood: whole === undefined || without === undefined ? undefined : whole - without,
      };
    }),
  };
}

/** Logarithm of the odds of a cause against 'unknown'; `undefined` where the cause cannot be judged. */
function advantage(cause: string, question: Parameters<typeof scoreCauses>[0]): number | undefined {
  const scores = scoreCauses(question);
  const own = scores.find((one) => one.cause === cause)?.score;
  const unknown = scores.find((one) => one.cause === 'unknown')?.score;
  return own === undefined || unknown === undefined ? undefined : own - unknown;
}

/** Charge-air temperature and its rise above the medium stand for one another, so they go together. */
function withoutChannel(departures: Departures, channel: ChannelKey): Departures {
  const gone: readonly ChannelKey[] =
    channel === 'coolerApproach' ? ['coolerApproach', 'chargeAirTemperature'] : [channel];
  return Object.fromEntries(Object.entries(departures).filter(([key]) => !gone.includes(key as ChannelKey)));
}

/** The size at which a signature lies nearest to the pattern, by weighted least squares, in the regime that fits better. */
function bestFit(
  signature: Signature,
  p: { pattern: readonly PatternEntry[]; question: { readonly unit: Unit } },
): { effects: Effects; size: number | undefined; closedLoop: boolean } {
  const regulated = isBoostRegulated(p.question.unit);
  const open = { ...fitSize(signature.open, p.pattern), effects: signature.open, closedLoop: false };
  if (signature.closed === undefined || !regulated) return open;
  const closed = { ...fitSize(signature.closed, p.pattern), effects: signature.closed, closedLoop: true };
  return closed.misfit < open.misfit ? closed : open;
}

function fitSize(effects: Effects, pattern: readonly PatternEntry[]): { size: number | undefined; misfit: number } {
  let [cross, square, rest] = [0, 0, 0];
  for (const { channel, departure, standardUncertainty } of pattern) {
    const effect = effects[channel] ?? 0;
    if (effect === 'either') continue;
    const variance = standardUncertainty ** 2 + (EFFECT_SPREAD_RATIO * effect) ** 2;
    cross += (effect * departure) / variance;
    square += (effect * effect) / variance;
    rest += (departure * departure) / variance;
  }
  if (square === 0) return { size: undefined, misfit: rest };
  const size = Math.min(SIZE_RANGE[1], Math.max(SIZE_RANGE[0], cross / square));
  return { size, misfit: rest - 2 * size * cross + size * size * square };
}
