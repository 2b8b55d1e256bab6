import { CHANNEL_KEYS } from '../../schemas/channel.ts';
import { INDICATORS, type IndicatorKey } from '../../schemas/indicator.ts';
import { SIGNAL_KEYS } from '../../schemas/signals.ts';

// What the history calls each part of a point, in every adapter; made once, since a point has some hundred of them. None
// has a character that a line protocol would escape.

/** All indicators, in the order of their table. */
export const INDICATOR_KEYS = Object.keys(INDICATORS) as readonly IndicatorKey[];

export const SIGNAL_FIELDS = SIGNAL_KEYS.map((key) => ({
  key,
  mean: `signal.${key}.mean`,
  sd: `signal.${key}.sd`,
  count: `signal.${key}.count`,
}));

export const INDICATOR_FIELDS = INDICATOR_KEYS.map((key) => ({
  key,
  value: `indicator.${key}.value`,
  uncertainty: `indicator.${key}.uncertainty`,
  from: `indicator.${key}.from`,
  absent: `indicator.${key}.absent`,
}));

export const CHANNEL_FIELDS = CHANNEL_KEYS.map((key) => ({
  key,
  observed: `channel.${key}.observed`,
  expected: `channel.${key}.expected`,
  sd: `channel.${key}.sd`,
  judgement: `channel.${key}.judgement`,
  cusum: `channel.${key}.cusum`,
}));
