import { z } from 'zod';
import { type ChannelReadings, channelKeySchema, channelReadingSchema } from './channel.ts';
import { type Indicators, indicatorsSchema } from './indicator.ts';
import { type OperatingPoint, operatingPointSchema } from './operating-point.ts';

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
