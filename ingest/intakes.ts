import { assert } from '../schemas/assert.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import type { Json, LogPort } from '../storage/log/port.ts';
import type { ClockLimits } from './checks.ts';
import type { Samples } from './formats/decoder.ts';
import { flushIntake, type IntakeResult, takeIn } from './intake.ts';
import { decodeIntake, type IntakeState, initialIntake } from './intake-state.ts';
import { LoadError } from './load-error.ts';

/** Consumer group under which ingest keeps its states. */
export const INGEST_GROUP = 'ingest';

/** The intakes of one source, one a unit, between the log and the decoder. */
export type Intakes = {
  /** Reads the states of these units from the log unless they are here. */
  open(units: readonly string[]): Promise<void>;
  take(samples: Samples): IntakeResult;
  /** Blocks of the rows held back in all open intakes. */
  flush(): SampleBlock[];
  /** States that have changed since `stored`, with the version that the log has. */
  changes(): { readonly key: string; readonly value: Json; readonly version: number }[];
  /** Says that the changes are durable. */
  stored(): void;
};

type Held = { state: IntakeState; version: number; isChanged: boolean };

/** Intakes that keep their states in this log. */
export function createIntakes(p: { log: LogPort; source: string; clock: ClockLimits }): Intakes {
  const held = new Map<string, Held>();
  const keyOf = (unit: string) => `intake:${unit}/${p.source}`;
  return {
    async open(units) {
      const missing = [...new Set(units)].filter((unit) => !held.has(unit));
      if (missing.length === 0) return;
      const states = await p.log.states({ group: INGEST_GROUP, keys: missing.map(keyOf) });
      for (const unit of missing) {
        const stored = states.get(keyOf(unit));
        if (stored === undefined) {
          held.set(unit, { state: initialIntake({ unit, source: p.source }), version: 0, isChanged: false });
          continue;
        }
        const state = decodeIntake(stored.value);
        if (!state.ok) throw new LoadError('state_unreadable', state.reject.detail);
        held.set(unit, { state: state.value, version: stored.version, isChanged: false });
      }
    },
    take(samples) {
      const intake = held.get(samples.unit);
      assert(intake !== undefined, 'the intake of every unit is opened before it takes samples');
      const result = takeIn(intake.state, samples, { clock: p.clock, isLast: false });
      assert(result.rejects.length === 0, 'decoders refuse what the intake would, with the row as it stood');
      intake.state = result.state;
      intake.isChanged = true;
      return result;
    },
    flush() {
      return [...held.values()].flatMap((intake) => {
        const { state, blocks } = flushIntake(intake.state);
        intake.state = state;
        intake.isChanged = true;
        return blocks;
      });
    },
    changes: () =>
      [...held].flatMap(([unit, intake]) =>
        intake.isChanged ? [{ key: keyOf(unit), value: intake.state as unknown as Json, version: intake.version }] : [],
      ),
    stored() {
      for (const intake of held.values()) {
        if (!intake.isChanged) continue;
        intake.isChanged = false;
        intake.version += 1;
      }
    },
  };
}
