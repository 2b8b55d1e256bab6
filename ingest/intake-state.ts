import { z } from 'zod';
import { accept, type Checked, refuse } from '../schemas/reject.ts';
import { isSignalKey, type SignalKey } from '../schemas/signals.ts';
import type { CoveredRuns } from './covered-runs.ts';

const troubleCodeSchema = z.strictObject({ spn: z.int(), fmi: z.int(), count: z.int(), sourceAddress: z.int() });

const intakeStateSchema = z.strictObject({
  version: z.literal(1),
  unit: z.string().min(1),
  source: z.string().min(1),
  /** Newest time that has gone to the log; `null` before the first. */
  passedMs: z.number().nullable(),
  /** Times no further apart belong to one covered run. */
  gapMs: z.number().positive(),
  runs: z.array(z.tuple([z.number(), z.number()])),
  barometric: z.strictObject({ timeMs: z.number(), pressureAbsKpa: z.number() }).nullable(),
  /** Rows that have come and may still be overtaken by earlier ones; in order. */
  pending: z.strictObject({
    timesMs: z.array(z.number()),
    columns: z.record(z.string(), z.array(z.number().nullable())),
  }),
  troubleCodes: z.array(troubleCodeSchema).nullable(),
});

/** What the intake remembers of one unit and source; plain JSON. */
export type IntakeState = Omit<z.infer<typeof intakeStateSchema>, 'runs' | 'pending'> & {
  readonly runs: CoveredRuns;
  readonly pending: PendingRows;
};

/** Rows in columns; `null` where not available. Every column is as long as the times. */
export type PendingRows = {
  readonly timesMs: readonly number[];
  readonly columns: { readonly [K in SignalKey]?: readonly (number | null)[] | undefined };
};

/** Readings this close together are one run, even of a source that sends faster. */
export const GAP_MIN_MS = 5000;

/** The state before anything has come. */
export function initialIntake(p: { unit: string; source: string }): IntakeState {
  return {
    version: 1,
    unit: p.unit,
    source: p.source,
    passedMs: null,
    gapMs: GAP_MIN_MS,
    runs: [],
    barometric: null,
    pending: { timesMs: [], columns: {} },
    troubleCodes: null,
  };
}

/**
 * Reads a stored state back.
 *
 * @returns A reject with `version_unknown` when a newer program wrote it, `record_unreadable` when it is damaged.
 */
export function decodeIntake(stored: unknown): Checked<IntakeState> {
  const version = z.looseObject({ version: z.number() }).safeParse(stored);
  if (version.success && version.data.version !== 1) {
    return refuse(
      'version_unknown',
      'version',
      `The intake state has version ${version.data.version}, and this program knows 1; use the newer program that wrote it.`,
    );
  }
  const parsed = intakeStateSchema.safeParse(stored);
  if (!parsed.success || !Object.keys(parsed.data.pending.columns).every(isSignalKey)) {
    return refuse(
      'record_unreadable',
      'intake',
      'The intake state in the log is damaged; restore the log from its last copy.',
    );
  }
  return accept(parsed.data as IntakeState);
}
