import {
  type Episode,
  episodesOf,
  eventScores,
  fScore,
  sampleScores,
} from '../../analysis/health/detection-quality.ts';
import type { ReferenceAdapter, ReferenceCase } from './case.ts';
import { answer, type Figures, InputMissing, numberOf, numbersOf, rowsOf } from './statistics-inputs.ts';
import { delayFigures } from './statistics-run-length.ts';

/** Alarms against known faults, sample by sample and event by event. */
export const qualityAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs } = referenceCase;
  if (inputs['truth'] !== undefined) return answer(referenceCase, sampleFigures(inputs));
  if (inputs['events'] !== undefined) return answer(referenceCase, eventFigures(inputs));
  return answer(referenceCase, delayFigures(referenceCase));
};

function flags(inputs: ReferenceCase['inputs'], ...keys: string[]): boolean[] {
  return numbersOf(inputs, ...keys).map((flag) => flag !== 0);
}

function sampleFigures(inputs: ReferenceCase['inputs']): Figures {
  const truth = flags(inputs, 'truth');
  const alarm = flags(inputs, 'alarm', 'alarms', 'predicted');
  const scores = sampleScores({ truth, alarm });
  const numbers = truth.map((_, i) => i + 1);
  return {
    tp: () => scores.truePositives,
    fp: () => scores.falsePositives,
    fn: () => scores.falseNegatives,
    tn: () => scores.trueNegatives,
    precision: () => scores.precision,
    recall: () => scores.recall,
    falsePositiveRate: () => scores.falsePositiveRate,
    accuracy: () => scores.accuracy,
    matthews: () => scores.matthews,
    f1: () => fScore(scores),
    f2: () => fScore(scores, 2),
    events: () => episodesOf(numbers, truth),
    alarmEpisodes: () => episodesOf(numbers, alarm),
  };
}

function episodes(inputs: ReferenceCase['inputs'], ...keys: string[]): Episode[] {
  return rowsOf(inputs, ...keys).map(([start, end]) => {
    if (start === undefined || end === undefined) throw new InputMissing('an episode has a start and an end');
    return [start, end];
  });
}

function eventFigures(inputs: ReferenceCase['inputs']): Figures {
  const scores = eventScores({
    events: episodes(inputs, 'events'),
    alarms: episodes(inputs, 'alarmEpisodes', 'alarms'),
    totalHours: numberOf(inputs, 'totalHours', 'hours'),
  });
  return {
    detectedEvents: () => scores.detectedEvents,
    missedEvents: () => scores.missedEvents,
    trueAlarms: () => scores.trueAlarms,
    falseAlarms: () => scores.falseAlarms,
    eventPrecision: () => scores.precision,
    eventRecall: () => scores.recall,
    eventF1: () => scores.f1,
    meanDelayOfDetected: () => scores.meanDelayHours,
    medianDelayOfDetected: () => scores.medianDelayHours,
    falseAlarmsPer1000HealthyHours: () => scores.falseAlarmsPer1000HealthyHours,
  };
}
