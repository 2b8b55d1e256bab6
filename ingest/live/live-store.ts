import { assert } from '../../schemas/assert.ts';
import type { Emit, Json, LogPort } from '../../storage/log/port.ts';
import { INGEST_GROUP } from '../intakes.ts';
import { encodeOpen, encodeSeen, type LiveUnit, liveKeys, restoreLiveUnit } from './live-unit.ts';

/** The units of one live source between the log and the session. */
export type LiveStore = {
  /** Reads the states of these units from the log unless they are here. */
  open(units: readonly string[]): Promise<void>;
  unit(id: string): LiveUnit;
  /** Units with rows that have not gone on. */
  waiting(): readonly string[];
  /** Makes records and the states of these units durable in one step. */
  commit(p: { emit: readonly Emit[]; touched: ReadonlySet<string>; sent: ReadonlySet<string> }): Promise<void>;
  /** Forgets what is here, so that the log is asked again: after a step that failed. */
  forget(): void;
};

type Versions = { open: number; intake: number; seen: number };

/** A store over this log. */
export function createLiveStore(p: { log: LogPort; source: string }): LiveStore {
  const units = new Map<string, { readonly unit: LiveUnit; readonly versions: Versions }>();
  const held = (id: string) => {
    const found = units.get(id);
    assert(found !== undefined, 'a unit is opened before it is used');
    return found;
  };
  return {
    async open(ids) {
      const missing = [...new Set(ids)].filter((id) => !units.has(id));
      if (missing.length === 0) return;
      const keysOf = (unit: string) => liveKeys({ unit, source: p.source });
      const keys = missing.flatMap((unit) => Object.values(keysOf(unit)));
      const states = await p.log.states({ group: INGEST_GROUP, keys });
      for (const unit of missing) {
        const key = keysOf(unit);
        const [intake, open, seen] = [states.get(key.intake), states.get(key.open), states.get(key.seen)];
        units.set(unit, {
          unit: restoreLiveUnit({
            unit,
            source: p.source,
            intake: intake?.value,
            open: open?.value,
            seen: seen?.value,
          }),
          versions: { intake: intake?.version ?? 0, open: open?.version ?? 0, seen: seen?.version ?? 0 },
        });
      }
    },
    unit: (id) => held(id).unit,
    waiting: () => [...units].filter(([, { unit }]) => unit.open.rows.size > 0).map(([id]) => id),
    async commit({ emit, touched, sent }) {
      const state: { key: string; value: Json }[] = [];
      const expect: { key: string; version: number }[] = [];
      const change = (key: string, version: number, value: Json) => {
        state.push({ key, value });
        expect.push({ key, version });
      };
      for (const id of touched) {
        const { unit, versions } = held(id);
        const keys = liveKeys({ unit: id, source: p.source });
        change(keys.open, versions.open, encodeOpen(unit));
        if (!sent.has(id)) continue;
        change(keys.intake, versions.intake, unit.intake as unknown as Json);
        change(keys.seen, versions.seen, encodeSeen(unit));
      }
      await p.log.commit({ group: INGEST_GROUP, emit, state, expect });
      for (const id of touched) {
        const { versions } = held(id);
        versions.open += 1;
        if (!sent.has(id)) continue;
        versions.intake += 1;
        versions.seen += 1;
      }
    },
    forget: () => units.clear(),
  };
}
