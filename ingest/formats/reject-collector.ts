import type { Reject } from '../../schemas/reject.ts';
import { type DecodedBatch, KEPT_REJECTS_MAX, type PlacedReject, type Tally } from './decoder.ts';
import { rawText } from './raw-text.ts';

/** Gathers the refusals of one file, batch by batch. */
export type RejectCollector = {
  /** Rows and values refused since the last `take`. */
  pending: number;
  row(p: { reject: Reject; position: number; raw: Uint8Array; unit?: string | undefined }): void;
  value(p: { reject: Reject; position: number; raw: Uint8Array; unit?: string | undefined }): void;
  /** The refusals since the last call. */
  take(): Pick<DecodedBatch, 'rejectedRows' | 'rejectedValues' | 'rejects'>;
};

/** A collector that keeps the first {@link KEPT_REJECTS_MAX} refusals of a file verbatim and counts all. */
export function createRejectCollector(): RejectCollector {
  let kept = 0;
  let rejects: PlacedReject[] = [];
  let rows: Tally = {};
  let values: Tally = {};
  const add = (
    extent: PlacedReject['extent'],
    p: { reject: Reject; position: number; raw: Uint8Array; unit?: string | undefined },
  ) => {
    const tally = extent === 'row' ? rows : values;
    tally[p.reject.code] = (tally[p.reject.code] ?? 0) + 1;
    collector.pending += 1;
    if (kept >= KEPT_REJECTS_MAX) return;
    kept += 1;
    rejects.push({ reject: p.reject, extent, position: p.position, raw: rawText(p.raw), unit: p.unit ?? null });
  };
  const collector: RejectCollector = {
    pending: 0,
    row: (p) => add('row', p),
    value: (p) => add('value', p),
    take() {
      const taken = { rejectedRows: rows, rejectedValues: values, rejects };
      rows = {};
      values = {};
      rejects = [];
      collector.pending = 0;
      return taken;
    },
  };
  return collector;
}
