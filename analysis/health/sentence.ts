import { CHANNELS, type ChannelKey } from '../../schemas/channel.ts';
import { SIGNALS, type SignalKey } from '../../schemas/signals.ts';
import type { SensorDoubt } from '../manipulation/plausibility.ts';

const FRACTION_DIGITS: { readonly [unit: string]: number } = {
  kPa: 1,
  degC: 1,
  K: 1,
  '1': 3,
  rpm: 0,
  '%': 1,
  'L/h': 1,
};
const SHOWN_UNIT: { readonly [unit: string]: string } = { degC: '°C', '1': '' };

/** A value with its unit as text, such as "12.3 kPa"; canonical units. */
export function quantityText(value: number, unit: string): string {
  const digits = FRACTION_DIGITS[unit] ?? 1;
  const shown = SHOWN_UNIT[unit] ?? unit;
  return `${value.toFixed(digits)}${shown === '' ? '' : ` ${shown}`}`;
}

/** The evidence of a departure from expectation, as one sentence for a planner. */
export function departureSentence(p: {
  readonly channel: ChannelKey;
  readonly departure: number;
  readonly standardUncertainty: number;
  readonly expected: number | undefined;
  readonly hours: number;
}): string {
  const { term, unit } = CHANNELS[p.channel];
  // A difference of temperatures is in kelvin.
  const differenceUnit = unit === 'degC' ? 'K' : unit;
  const size = quantityText(Math.abs(p.departure), differenceUnit);
  const spread = quantityText(p.standardUncertainty, differenceUnit);
  const share =
    p.expected === undefined || unit === 'degC' || unit === 'K' || p.expected === 0
      ? ''
      : `, ${Math.abs((100 * p.departure) / p.expected).toFixed(0)} %`;
  const side = p.departure < 0 ? 'below' : 'above';
  const conditions = p.channel === 'oilPressure' ? 'this speed and oil temperature' : 'this fuel rate, speed and air';
  return `${capital(term)} lies ${size} (± ${spread}${share}) ${side} what this engine showed before at ${conditions}, over ${p.hours} running hour${p.hours === 1 ? '' : 's'}.`;
}

/** A passed limit as one sentence. */
export function limitSentence(p: {
  readonly signal: SignalKey;
  readonly worst: number;
  readonly limit: number;
  readonly source: string;
}): string {
  const { term, unit } = SIGNALS[p.signal];
  const side = p.worst >= p.limit ? 'above' : 'below';
  return `${capital(term)} went to ${quantityText(p.worst, unit)}, ${side} the limit of ${quantityText(p.limit, unit)} (${p.source}).`;
}

const DOUBTS: { readonly [K in SensorDoubt]: string } = {
  stuck: 'has not moved while load and speed did',
  missing: 'has given no value while the engine ran',
  reads_absolute:
    'reads the barometer with the engine stopped although it is set down as gauge: it sends absolute pressure',
  reads_gauge: 'reads minus the barometer with the engine stopped: the barometer has been taken off twice',
};

/** A doubted sensor as one sentence. */
export function sensorSentence(p: { readonly signal: SignalKey; readonly doubt: SensorDoubt }): string {
  return `The sensor of ${SIGNALS[p.signal].term} ${DOUBTS[p.doubt]}; its values are kept out of the expectation.`;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
