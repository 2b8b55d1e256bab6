import { z } from 'zod';
import { channelKeySchema, channelReadingSchema, type ChannelReadings } from './channel.ts';
import { indicatorsSchema, type Indicators } from './indicator.ts';
import { operatingPointSchema, type OperatingPoint } from './operating-point.ts';

export const historyPointSchema = z.strictObject({
  point: operatingPointSchema,
  indicators: indicatorsSchema,
  channels: z.partialRecord(channelKeySchema, channelReadingSchema),
});

/** What the history keeps of one operating point: the point, what was derived, and what was expected. */
export type HistoryPoint = {
  readonly point: OperatingPoint;
  readonly indicators: Indicators;
  readonly channels: ChannelReadings;
};
