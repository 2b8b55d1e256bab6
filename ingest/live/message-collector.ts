import type { Reject, RejectCode } from '../../schemas/reject.ts';
import type { DecodedBatch, PlacedReject, Tally } from '../formats/decoder.ts';
import { rawText } from '../formats/raw-text.ts';

/** Refusals of one message kept verbatim; beyond they are counted only. */
const MESSAGE_REJECTS_MAX = 100;

/** What came of a message. Rows of it: those of the samples, `emptyRows` and the rejected ones. */
export type MessageBatch = Omit<DecodedBatch, 'repeatedRows'>;

/** Gathers what is refused of one message. */
export type Collector = {
  row(p: { reject: Reject; count: number; position: number; unit?: string }): void;
  value(p: { reject: Reject; position: number; unit?: string }): void;
  batch(p: Pick<MessageBatch, 'samples' | 'emptyRows'>): MessageBatch;
};

/**
 * A collector for a message.
 *
 * @param bytes - The message as it came; asked for when something of it is refused.
 */
export function createCollector(bytes: () => Uint8Array): Collector {
  const rejects: PlacedReject[] = [];
  const rejectedRows: Tally = {};
  const rejectedValues: Tally = {};
  let raw: string | undefined;
  const keep = (extent: PlacedReject['extent'], p: { reject: Reject; position: number; unit?: string }) => {
    if (rejects.length >= MESSAGE_REJECTS_MAX) return;
    raw ??= rawText(bytes());
    rejects.push({ reject: p.reject, extent, position: p.position, raw, unit: p.unit ?? null });
  };
  const count = (tally: Tally, code: RejectCode, by: number) => {
    tally[code] = (tally[code] ?? 0) + by;
  };
  return {
    row(p) {
      count(rejectedRows, p.reject.code, p.count);
      keep('row', p);
    },
    value(p) {
      count(rejectedValues, p.reject.code, 1);
      keep('value', p);
    },
    batch: (p) => ({ ...p, rejectedRows, rejectedValues, rejects }),
  };
}

/** A message of which nothing could be read. */
export function refusedMessage(bytes: () => Uint8Array, reject: Reject): MessageBatch {
  const collector = createCollector(bytes);
  collector.row({ reject, count: 1, position: 1 });
  return collector.batch({ samples: [], emptyRows: 0 });
}
