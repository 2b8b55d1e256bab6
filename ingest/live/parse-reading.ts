import { liveReadingSchema } from '../../schemas/live-message.ts';
import { refuse } from '../../schemas/reject.ts';
import { isSignalKey } from '../../schemas/signals.ts';
import { utf8Text } from '../formats/raw-text.ts';
import { parseIsoInstant } from '../formats/time-reader.ts';
import { createCollector, type MessageBatch, refusedMessage } from './message-collector.ts';
import type { TopicMatch } from './mqtt-topics.ts';
import { jsonOf, type MessageContext, readSamples } from './parse-message.ts';

const SECOND_MS = 1000;

/** How a reading came, as far as it bears on its time. */
export type Arrival = {
  readonly nowMs: number;
  /** The broker had kept it: it may be of any age. */
  readonly isRetained: boolean;
  /** The broker says it may have sent it before. */
  readonly isRepeated: boolean;
};

/**
 * Reads the payload of a topic that carries one signal: a bare number, measured as it came, or `{ t, value }`.
 *
 * Times are taken at the start of their second, so that signals sent one by one meet in one row; of several values of
 * one second the first stays.
 *
 * @returns Without samples when a retained number has no time, for it may be of any age. A repeated number without a
 *   time is refused: the moment of its measurement is lost, and it may be in already.
 */
export function parseReading(
  bytes: Uint8Array,
  p: { match: TopicMatch & { readonly signal: string }; arrival: Arrival; context: MessageContext },
): MessageBatch {
  const { match, arrival } = p;
  const { signal } = match;
  if (!isSignalKey(signal)) {
    const detail = `"${signal.slice(0, 60)}" is no signal that is known here; \`chargeair signals\` lists those that are.`;
    return refusedMessage(() => bytes, refuse('signal_unknown', signal.slice(0, 60), detail).reject);
  }
  const text = utf8Text(bytes);
  const json = text === undefined ? undefined : jsonOf(text);
  const written = json?.ok === true ? json.value : undefined;
  if (typeof written === 'number') {
    if (arrival.isRetained) return createCollector(() => bytes).batch({ samples: [], emptyRows: 0 });
    if (arrival.isRepeated) {
      const detail =
        'The number came again and has no time of its own, so it cannot be told when it was measured; send { "t": ..., "value": ... }.';
      return refusedMessage(() => bytes, refuse('field_missing', 't', detail).reject);
    }
  }
  const parsed = liveReadingSchema.safeParse(
    typeof written === 'number' ? { t: arrival.nowMs, value: written } : written,
  );
  if (!parsed.success) {
    const detail = 'The payload is neither a number nor { "t": ..., "value": ... }; correct the sender.';
    return refusedMessage(() => bytes, refuse('record_unreadable', signal, detail).reject);
  }
  const { t, value, unit, reference } = parsed.data;
  const timeMs = typeof t === 'number' ? t : parseIsoInstant(t);
  return readSamples(
    {
      unit: match.unit,
      t: [Number.isNaN(timeMs) ? t : Math.floor(timeMs / SECOND_MS) * SECOND_MS],
      signals: { [signal]: [value] },
      units: { [signal]: unit ?? match.rule.units?.[signal] },
      references: { [signal]: reference ?? match.rule.references?.[signal] },
    },
    createCollector(() => bytes),
    p.context,
  );
}
