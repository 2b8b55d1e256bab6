import { causeFacts } from '../alerts/checklists/causes.ts';
import type { CauseExplanation, ChannelSpeech } from '../analysis/health/explain.ts';
import { CHANNELS } from '../schemas/channel.ts';
import { FINDING_KINDS } from '../schemas/finding.ts';
import { SIGNALS } from '../schemas/signals.ts';
import type { ExplainedFinding } from './explained-finding.ts';
import { isoTime } from './iso-times.ts';
import { tableLines } from './output.ts';

/** A finding taken apart, as lines for a person. */
export function explainText(p: { explained: ExplainedFinding; most: number }): readonly string[] {
  const { explained } = p;
  return [
    ...headLines(explained),
    ...expectationLines(explained),
    ...patternLines(explained),
    ...explained.explanation.causes.flatMap((cause) => causeLines(cause)),
    ...limitLines(explained),
    ...pointLines(explained, p.most),
    ...sampleLines(explained, p.most),
  ];
}

const BASIS: Readonly<Record<ExplainedFinding['basis'], string>> = {
  replayed: 'The samples in the log, run again, gave this report byte for byte; what follows is of its moment.',
  changed:
    'The samples in the log, run again, give a report of this finding at its moment, but not the same one: the program or the fleet file has changed since. What follows is of the report as it would be today.',
  stored:
    'The samples in the log, run again, give no report of this finding at its moment: the program or the fleet file has changed since. What follows is of the analysis as it stands now.',
};

function headLines({ finding, basis }: ExplainedFinding): string[] {
  return [
    `${finding.unit}: ${FINDING_KINDS[finding.kind]}, severity ${finding.severity}, ${finding.state} (${finding.id})`,
    `Since about ${isoTime(finding.sinceMs)}, first reported ${isoTime(finding.atMs)}, this report ${isoTime(finding.updatedAtMs)}.`,
    finding.evidence.sentence,
    BASIS[basis],
  ];
}

function expectationLines({ explanation }: ExplainedFinding): string[] {
  const { expectation } = explanation;
  if (expectation === undefined) return ['', 'No expectation has been learnt for it.'];
  const unit = explanation.channel === undefined ? '' : unitOf({ channel: explanation.channel });
  const percent = ([low, high]: readonly [number, number]) =>
    `${(100 * low).toFixed(0)} to ${(100 * high).toFixed(0)} %`;
  return [
    '',
    `Expectation: rests on ${expectation.points} operating points, at ${percent(expectation.load)} of rated load and ${percent(expectation.speed)} of rated speed; outside that nothing is judged.`,
    `A point spreads by ${digits(expectation.pointSd)} ${unit}, an hour by ${digits(expectation.hourSd)} ${unit} (correlation of neighbouring hours ${expectation.hourCorrelation.toFixed(2)}); the CUSUM signals above ${expectation.decisionInterval.toFixed(2)} standard deviations of an hour.`,
  ];
}

function patternLines({ explanation }: ExplainedFinding): string[] {
  if (explanation.pattern.length === 0) return ['', 'No channel was judged in that time, so there is no pattern.'];
  return [
    '',
    'Pattern of departures (± one standard uncertainty):',
    ...tableLines(
      ['channel', 'departure', '±', 'unit', 'in standard uncertainties'],
      explanation.pattern.map((entry) => [
        entry.channel,
        signed(entry.departure),
        digits(entry.standardUncertainty),
        unitOf(entry),
        signed(entry.departure / entry.standardUncertainty),
      ]),
    ),
  ];
}

function causeLines(cause: CauseExplanation): string[] {
  const size = cause.fittedSize === undefined ? '' : `, at ${cause.fittedSize.toFixed(2)} times its moderate size`;
  const regime = cause.closedLoop ? ', boost held by its control' : '';
  const head = `${causeFacts(cause.cause).term} (${cause.cause}), ${(100 * cause.probability).toFixed(0)} %${size}${regime}`;
  if (cause.cause === 'unknown')
    return ['', `${head}: every channel may have gone its own way; the other causes are held against this.`];
  if (cause.channels.length === 0) return ['', head];
  const told = [...cause.channels].sort((a, b) => (b.logLikelihood ?? 99) - (a.logLikelihood ?? 99));
  return [
    '',
    head,
    ...tableLines(
      ['  channel', 'observed', 'its signature', 'log-likelihood', ''],
      told.map((entry) => [
        `  ${entry.channel}`,
        `${signed(entry.departure)} ± ${digits(entry.standardUncertainty)} ${unitOf(entry)}`,
        entry.logLikelihood === 0
          ? ''
          : entry.signature === 'either'
            ? 'either way'
            : entry.signature === 0
              ? 'stands still'
              : signed(entry.signature),
        entry.logLikelihood === undefined ? '-' : signed(entry.logLikelihood),
        speech(entry.logLikelihood),
      ]),
    ),
  ];
}

/** Words for a logarithm of odds: a factor of three begins to say something, one of ten says it plainly. */
function speech(log: number | undefined): string {
  if (log === undefined) return 'without it the cause could not be judged';
  if (log === 0) return 'not counted: computed from others, or of another trouble';
  if (Math.abs(log) < Math.log(3)) return 'says little';
  const plain = Math.abs(log) >= Math.log(10) ? 'speaks plainly' : 'speaks';
  return log > 0 ? `${plain} for it` : `${plain} against it`;
}

function limitLines({ finding }: ExplainedFinding): string[] {
  const { limit } = finding;
  if (limit === undefined) return ['', 'The fleet file states no limit of the engine maker for it.'];
  const left = limit.hoursToLimit;
  const forecast = limit.exceeded
    ? 'It has been passed.'
    : left === undefined
      ? 'No slope is sure enough to say when it would be reached.'
      : `Reached in ${left.estimate.toFixed(0)} running hours (${(100 * left.confidence).toFixed(0)} %: ${left.lower.toFixed(0)} to ${left.upper.toFixed(0)}), if it goes on as it does.`;
  return ['', `Limit: ${digits(limit.value)} ${limit.unit} (${limit.source}). ${forecast}`];
}

function pointLines(explained: ExplainedFinding, most: number): string[] {
  const { points } = explained;
  if (points.length === 0) return ['', 'The history has no operating point of it since the onset.'];
  const load =
    explained.loadSignal === null
      ? ''
      : `, load is ${SIGNALS[explained.loadSignal].term} in ${SIGNALS[explained.loadSignal].unit}`;
  return [
    '',
    `Operating points since the onset, newest first (${Math.min(most, points.length)} of ${points.length}${load}):`,
    ...tableLines(
      ['end of point', 'speed, rpm', 'load', 'observed', 'expected', '± sd', 'judgement', 'cusum'],
      points
        .slice(-most)
        .reverse()
        .map((point) => [
          isoTime(point.toMs),
          known(point.speedRpm),
          known(point.load),
          digits(point.observed),
          known(point.expected),
          known(point.sd),
          point.judgement,
          known(point.cusum),
        ]),
    ),
  ];
}

function sampleLines({ samples }: ExplainedFinding, most: number): string[] {
  if (samples === null) return [];
  if (samples.rows.length === 0) return ['', 'The log no longer has the samples of the newest point.'];
  return [
    '',
    `Samples of the newest judged point (${Math.min(most, samples.rows.length)} of ${samples.rows.length}):`,
    ...tableLines(
      ['time', ...samples.signals.map((key) => `${key}, ${SIGNALS[key].unit}`)],
      samples.rows.slice(0, most).map((row) => [isoTime(row.atMs), ...row.values.map(known)]),
    ),
  ];
}

/** A difference of temperatures is in kelvin. */
function unitOf(entry: Pick<ChannelSpeech, 'channel'>): string {
  const { unit } = CHANNELS[entry.channel];
  return unit === 'degC' ? 'K' : unit === '1' ? '' : unit;
}

function known(value: number | null | undefined): string {
  return value === null || value === undefined ? '-' : digits(value);
}

function digits(value: number): string {
  const size = Math.abs(value);
  return value.toFixed(size >= 1000 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : 3);
}

function signed(value: number): string {
  return `${value > 0 ? '+' : ''}${digits(value)}`;
}
