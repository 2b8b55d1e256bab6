import type { Reject } from '../../schemas/reject.ts';
import {
  type SignalKDelta,
  type SignalKUpdate,
  signalKDeltaSchema,
  signalKHelloSchema,
} from '../../schemas/signalk-delta.ts';
import { type SignalKRule, unitsOfRule } from '../../schemas/source-rule.ts';
import { clockReject } from '../checks.ts';
import type { DecodeContext, Decoder } from './decoder.ts';
import { createLineDecoder, type LineOutcome, refused, TAKEN } from './line-decoder.ts';
import { utf8Text } from './raw-text.ts';
import { createSignalKValues } from './signalk-values.ts';
import { parseIsoInstant } from './time-reader.ts';

/** Contexts counted apart: a busy harbour has some hundreds of vessels. */
const CONTEXTS_MAX = 1000;
const CONTEXT_NAME_MAX = 200;
const OWN_CONTEXT = 'vessels.self';
const NO_CONTEXT = 'absent';

const UNTIMED: Reject = {
  code: 'field_missing',
  field: 'timestamp',
  detail: 'The update has values that are read, and no time; have the server write "timestamp".',
};

/**
 * Decoder for Signal K deltas, one JSON message a line. A line is a row, however many updates it holds. Values that
 * share a time are all read: many servers write whole seconds. An update without a time is refused where it has a value
 * that is read; what is no signal is accepted and carries nothing of ours.
 */
export function createSignalKDecoder(context: DecodeContext<SignalKRule>): Decoder {
  const { rule } = context;
  const values = createSignalKValues(rule);
  const contexts = createContexts(rule.context);
  const tally = { deltas: 0, updates: 0, updatesWithoutTime: 0, firstMs: Number.NaN, lastMs: Number.NaN };
  const units = unitsOfRule(rule);
  let lastText = '';
  let lastTimeMs = Number.NaN;
  const timeOf = (text: string): number => {
    if (text !== lastText) {
      lastText = text;
      lastTimeMs = parseIsoInstant(text);
    }
    return lastTimeMs;
  };
  // Returns the time, or why the update cannot be read; `undefined` when it has no time and carries nothing.
  const placeUpdate = (update: SignalKUpdate): number | Reject | undefined => {
    if (update.timestamp === undefined) {
      tally.updatesWithoutTime += 1;
      return values.carriesSignal(update) ? UNTIMED : undefined;
    }
    const timeMs = timeOf(update.timestamp);
    return Number.isNaN(timeMs) ? unreadableTime(update.timestamp) : (clockReject(timeMs, context.clock) ?? timeMs);
  };
  const countTime = (timeMs: number): void => {
    if (!(timeMs >= tally.firstMs)) tally.firstMs = timeMs;
    if (!(timeMs <= tally.lastMs)) tally.lastMs = timeMs;
  };
  const readDelta = (delta: SignalKDelta, refuseValue: (reject: Reject) => void): LineOutcome => {
    tally.deltas += 1;
    const isRead = contexts.count(delta.context, () => delta.updates.some(values.speaksForEngine));
    const refusals: Reject[] = [];
    let rowTimeMs: number | undefined;
    let stood = 0;
    for (const update of delta.updates) {
      tally.updates += 1;
      values.count(update);
      const place = placeUpdate(update);
      if (typeof place === 'object') {
        refusals.push(place);
        continue;
      }
      stood += 1;
      if (place === undefined) continue;
      rowTimeMs ??= place;
      countTime(place);
      values.take({ update, timeMs: place, isRead }, refuseValue);
    }
    const [first] = refusals;
    if (first !== undefined && stood === 0) return refused(first);
    for (const refusal of refusals) refuseValue(refusal);
    if (rowTimeMs === undefined) values.samples.countUntimedRow();
    else values.samples.countRow(rowTimeMs);
    return TAKEN;
  };
  return createLineDecoder({
    unit: units.length === 1 ? units[0] : undefined,
    reader: {
      line(bytes, start, end, refuseValue) {
        const message = parseJson(bytes.subarray(start, end));
        const delta = signalKDeltaSchema.safeParse(message);
        if (delta.success) return readDelta(delta.data, refuseValue);
        const hello = signalKHelloSchema.safeParse(message);
        if (!hello.success || hasUpdates(message)) return refused(unreadable(message === undefined ? 'JSON' : 'delta'));
        contexts.setOwn(hello.data.self);
        values.samples.countUntimedRow();
        return TAKEN;
      },
      isFull: values.samples.isFull,
      take: values.samples.take,
      summary: () => ({
        statistics: values.samples.statistics,
        signalK: { ...tally, contexts: contexts.counts, readContext: contexts.readName(), ...values.summary() },
      }),
    },
  });
}

function parseJson(bytes: Uint8Array): unknown {
  const text = utf8Text(bytes);
  if (text === undefined) return undefined;
  try {
    return JSON.parse(text);
  } catch (error) {
    if (error instanceof SyntaxError) return undefined;
    throw error;
  }
}

function hasUpdates(message: unknown): boolean {
  return typeof message === 'object' && message !== null && 'updates' in message;
}

function unreadable(what: 'JSON' | 'delta'): Reject {
  return {
    code: 'record_unreadable',
    field: '',
    detail:
      what === 'JSON'
        ? 'The line is no JSON; one delta message a line is read.'
        : 'The line is no delta message: it needs "updates", each with "values" of "path" and "value".',
  };
}

function unreadableTime(text: string): Reject {
  return {
    code: 'time_unreadable',
    field: 'timestamp',
    detail: `"${text.slice(0, 60)}" is no time with an offset such as 2024-05-01T10:00:00.000Z; correct the sender.`,
  };
}

// Several vessels may stand in one file, so only one is read: the named one, else the one whose engines are the rule's.
function createContexts(wanted: string | undefined) {
  const counts = new Map<string, number>();
  let own = OWN_CONTEXT;
  let read: string | undefined = wanted;
  const plain = (name: string | undefined) => (name === undefined || name === own ? OWN_CONTEXT : name);
  return {
    counts: counts as ReadonlyMap<string, number>,
    readName: () => read,
    setOwn(name: string | undefined): void {
      if (name !== undefined) own = name;
    },
    count(name: string | undefined, speaksForEngine: () => boolean): boolean {
      const filed = (name ?? NO_CONTEXT).slice(0, CONTEXT_NAME_MAX);
      const before = counts.get(filed);
      if (before !== undefined || counts.size < CONTEXTS_MAX) counts.set(filed, (before ?? 0) + 1);
      if (read === undefined && speaksForEngine()) read = plain(name);
      return read !== undefined && plain(name) === plain(read);
    },
  };
}
