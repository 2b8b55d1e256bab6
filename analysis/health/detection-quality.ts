import { assert } from '../../schemas/assert.ts';
import { at } from '../detection/linear-algebra.ts';
import { median } from '../detection/quantiles.ts';
import { mean } from '../detection/robust-scale.ts';

/** Alarms against truth, sample by sample. A ratio whose denominator is 0 is `undefined`, not 0. */
export type SampleScores = {
  readonly truePositives: number;
  readonly falsePositives: number;
  readonly falseNegatives: number;
  readonly trueNegatives: number;
  /** Share of alarmed samples that are faulty. */
  readonly precision: number | undefined;
  /** Share of faulty samples that are alarmed. */
  readonly recall: number | undefined;
  readonly falsePositiveRate: number | undefined;
  readonly accuracy: number | undefined;
  /** Correlation of alarm and truth; 0 for alarms that know nothing. */
  readonly matthews: number | undefined;
};

function ratio(part: number, whole: number): number | undefined {
  return whole === 0 ? undefined : part / whole;
}

/**
 * Scores of alarms sample by sample.
 *
 * @param p.truth - Whether each sample is faulty.
 * @param p.alarm - Whether each sample is alarmed; as many.
 * @see Fawcett (2006), Pattern Recognition Letters 27, 861-874; Matthews (1975), Biochimica et Biophysica Acta 405, 442-451.
 */
export function sampleScores(p: { truth: readonly boolean[]; alarm: readonly boolean[] }): SampleScores {
  assert(p.truth.length === p.alarm.length, 'every sample has a truth and an alarm state');
  let [tp, fp, fn, tn] = [0, 0, 0, 0];
  for (const [i, faulty] of p.truth.entries()) {
    const alarmed = p.alarm[i] === true;
    if (faulty && alarmed) tp++;
    else if (alarmed) fp++;
    else if (faulty) fn++;
    else tn++;
  }
  const spread = Math.sqrt((tp + fp) * (tp + fn) * (tn + fp) * (tn + fn));
  return {
    truePositives: tp,
    falsePositives: fp,
    falseNegatives: fn,
    trueNegatives: tn,
    precision: ratio(tp, tp + fp),
    recall: ratio(tp, tp + fn),
    falsePositiveRate: ratio(fp, fp + tn),
    accuracy: ratio(tp + tn, p.truth.length),
    matthews: ratio(tp * tn - fp * fn, spread),
  };
}

/**
 * F score: precision and recall in one figure, recall counting `recallWeight` times as much.
 *
 * @returns 0 when nothing was found though there was something; `undefined` when there was nothing to find and no alarm.
 * @see van Rijsbergen (1979), Information Retrieval, chapter 7.
 */
export function fScore(scores: SampleScores, recallWeight = 1): number | undefined {
  const square = recallWeight * recallWeight;
  const hits = (1 + square) * scores.truePositives;
  return ratio(hits, hits + square * scores.falseNegatives + scores.falsePositives);
}

/** From start to end, both included, in hours. */
export type Episode = readonly [start: number, end: number];

/** Alarms against faults, event by event. A figure that nothing is known about is `undefined`. */
export type EventScores = {
  readonly detectedEvents: number;
  readonly missedEvents: number;
  /** Alarm episodes that overlap an event; one may detect several. */
  readonly trueAlarms: number;
  readonly falseAlarms: number;
  readonly precision: number | undefined;
  readonly recall: number | undefined;
  readonly f1: number | undefined;
  /** From the start of the event to the first alarm; over detected events only, so read it beside `recall`. */
  readonly meanDelayHours: number | undefined;
  readonly medianDelayHours: number | undefined;
  readonly falseAlarmsPer1000HealthyHours: number | undefined;
};

/**
 * Scores of alarm episodes against known faults.
 *
 * @param p.events - Faults, not overlapping each other.
 * @param p.alarms - Alarm episodes in any order.
 * @param p.totalHours - Length of the whole record.
 * @see Tatbul et al. (2018), Precision and recall for time series, for why events and not samples are counted.
 */
export function eventScores(p: {
  events: readonly Episode[];
  alarms: readonly Episode[];
  totalHours: number;
}): EventScores {
  const overlaps = (alarm: Episode, event: Episode) => alarm[0] <= event[1] && alarm[1] >= event[0];
  const delays = p.events.flatMap((event) => {
    const starts = p.alarms.filter((alarm) => overlaps(alarm, event)).map(([start]) => start);
    return starts.length === 0 ? [] : [Math.max(0, Math.min(...starts) - event[0])];
  });
  const trueAlarms = p.alarms.filter((alarm) => p.events.some((event) => overlaps(alarm, event))).length;
  const falseAlarms = p.alarms.length - trueAlarms;
  const precision = ratio(trueAlarms, p.alarms.length);
  const recall = ratio(delays.length, p.events.length);
  const healthyHours = p.totalHours - p.events.reduce((sum, [start, end]) => sum + end - start, 0);
  return {
    detectedEvents: delays.length,
    missedEvents: p.events.length - delays.length,
    trueAlarms,
    falseAlarms,
    precision,
    recall,
    f1: precision === undefined || recall === undefined ? undefined : ratio(2 * precision * recall, precision + recall),
    meanDelayHours: mean(delays),
    medianDelayHours: median(delays),
    falseAlarmsPer1000HealthyHours: healthyHours > 0 ? (1000 * falseAlarms) / healthyHours : undefined,
  };
}

/** Stretches of alarmed samples as episodes, from the time of the first to the time of the last sample of each. */
export function episodesOf(times: readonly number[], alarm: readonly boolean[]): Episode[] {
  const episodes: [number, number][] = [];
  for (const [i, alarmed] of alarm.entries()) {
    if (!alarmed) continue;
    const last = episodes.at(-1);
    if (last !== undefined && alarm[i - 1] === true) last[1] = at(times, i);
    else episodes.push([at(times, i), at(times, i)]);
  }
  return episodes;
}
