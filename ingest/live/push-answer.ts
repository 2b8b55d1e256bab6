import type { PlacedReject } from '../formats/decoder.ts';
import { tallyTotal } from '../load-progress.ts';
import type { Receipt } from './session.ts';

/** Refusals that an answer names; all of them are kept as dead letters. */
const NAMED_MAX = 20;

/** What a sender is told of a request that was read. */
export type PushAnswer = {
  readonly status: number;
  readonly body: {
    readonly accepted: number;
    readonly duplicates: number;
    readonly rejected: number;
    readonly rejectedValues: number;
    readonly refusals: readonly {
      readonly position: number;
      readonly code: string;
      readonly field: string;
      readonly detail: string;
    }[];
  };
};

/** The answer to what was taken in; 422 when all of it was refused. */
export function pushAnswer(receipt: Receipt, rejects: readonly PlacedReject[]): PushAnswer {
  const rejected = tallyTotal(receipt.rejectedRows);
  const body = {
    accepted: receipt.accepted,
    duplicates: receipt.duplicates,
    rejected,
    rejectedValues: tallyTotal(receipt.rejectedValues),
    refusals: rejects.slice(0, NAMED_MAX).map(({ position, reject }) => ({ position, ...reject })),
  };
  const isAllRefused = receipt.accepted === 0 && receipt.duplicates === 0 && rejected > 0;
  return { status: isAllRefused ? 422 : 200, body };
}
