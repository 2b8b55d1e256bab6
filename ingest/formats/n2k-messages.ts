import type { Reject } from '../../schemas/reject.ts';
import { type N2kRule, unitsOfRule } from '../../schemas/source-rule.ts';
import { createEngineSamples, type EngineSamples, type Target } from './engine-samples.ts';
import { addQuantity, type EngineStatus, type N2kSummary, type QuantitySummary } from './marine-summary.ts';
import { createFastPackets } from './n2k-fast-packet.ts';
import {
  N2K_MESSAGES,
  type N2kMessage,
  type N2kParameter,
  n2kKind,
  rawValues,
  STATUS_WORD_BYTES,
} from './n2k-parameters.ts';
import { targetOf } from './n2k-targets.ts';
import { emptyStatistics } from './running-statistics.ts';

/** PGNs counted apart. */
const PGNS_MAX = 10_000;
/** Messages of one sender, instance and source told apart; an honest bus has some hundreds. */
const ORIGINS_MAX = 4096;
/** States of the status words, and engine instances, told apart. */
const STATES_MAX = 1000;

/** Index of each message that is read, by its PGN. */
const MESSAGE_INDEX = new Map(N2K_MESSAGES.map(({ pgn }, index) => [pgn, index] as const));

/** A message, or a frame of one. */
export type N2kInput = {
  readonly pgn: number;
  readonly sender: number;
  readonly timeMs: number;
  readonly data: Uint8Array;
  readonly length: number;
};

/** Takes the numbers out of messages, for every sender by itself. */
export type N2kReader = {
  readonly samples: EngineSamples;
  /** Reads a message, or a frame of up to eight bytes; fast packets are put together. */
  read(input: N2kInput, refuseValue: (reject: Reject) => void): void;
  summary(): Omit<N2kSummary, 'comments' | 'firstMs' | 'lastMs'>;
};

type Series = {
  readonly parameter: N2kParameter;
  readonly quantity: QuantitySummary;
  readonly target: Target | undefined;
};

/** A reader for the engines of a rule. */
export function createN2kReader(rule: N2kRule): N2kReader {
  const units = unitsOfRule(rule);
  const engines = new Map(Object.entries(rule.engines).map(([instance, unit]) => [instance, units.indexOf(unit)]));
  const samples = createEngineSamples(units);
  const packets = createFastPackets();
  const messagesPerPgn = new Map<number, number>();
  const origins = new Map<number, readonly Series[]>();
  const statuses = new Map<string, EngineStatus>();
  const enginesLeftOut = new Map<string, number>();
  let messages = 0;
  let lost = 0;
  let leftOut = 0;

  const seriesOf = (index: number, message: N2kMessage, input: N2kInput): readonly Series[] | undefined => {
    const instance = message.instanceByte === 0 ? -1 : (input.data[message.instanceByte - 1] as number);
    const source = message.sourceByte === 0 ? -1 : (input.data[message.sourceByte - 1] as number) & message.sourceMask;
    const key = ((index * 256 + input.sender) * 257 + instance + 1) * 257 + source + 1;
    const known = origins.get(key);
    if (known !== undefined) return known;
    if (origins.size >= ORIGINS_MAX) {
      leftOut += 1;
      return undefined;
    }
    const made = message.parameters.map((parameter) => {
      const origin = { message, parameter, sender: input.sender, instance, source };
      const target = targetOf({ rule, engines, origin, units });
      return { parameter, quantity: emptyQuantity({ ...origin, target }), target };
    });
    origins.set(key, made);
    return made;
  };

  const take = (series: Series, input: N2kInput, refuseValue: (reject: Reject) => void): void => {
    const { parameter, quantity, target } = series;
    const last = parameter.firstByte + parameter.byteCount - 1;
    // A short message does not hold this number.
    if (input.length < last) return;
    quantity.messages += 1;
    let raw = 0;
    for (let byte = last - 1; byte >= parameter.firstByte - 1; byte -= 1)
      raw = raw * 256 + (input.data[byte] as number);
    const kind = n2kKind(raw, parameter);
    if (kind !== 'valid') {
      if (count(quantity, kind) && kind === 'wrong_fill' && target !== undefined) refuseValue(wrongFill(quantity));
      return;
    }
    const range = rawValues(parameter.byteCount);
    const value = (parameter.isSigned && raw >= range / 2 ? raw - range : raw) / parameter.steps + parameter.offset;
    addQuantity(quantity, { value, timeMs: input.timeMs });
    if (target === undefined) return;
    const reject = samples.offer(target, { value, timeMs: input.timeMs });
    if (reject !== undefined) refuseValue(reject);
  };

  const readWhole = (index: number, input: N2kInput, refuseValue: (reject: Reject) => void): void => {
    const message = N2K_MESSAGES[index];
    if (message === undefined || input.length < Math.max(message.instanceByte, message.sourceByte)) return;
    if (message.kind === 'engine') {
      const instance = String(input.data[message.instanceByte - 1]);
      if (!engines.has(instance)) enginesLeftOut.set(instance, (enginesLeftOut.get(instance) ?? 0) + 1);
      if (message.isFastPacket) countStatus(statuses, input);
    }
    for (const series of seriesOf(index, message, input) ?? []) take(series, input, refuseValue);
  };

  return {
    samples,
    read(input, refuseValue) {
      const index = MESSAGE_INDEX.get(input.pgn) ?? -1;
      let whole = input;
      if (index >= 0 && N2K_MESSAGES[index]?.isFastPacket === true && input.length <= 8) {
        const { data, isEarlierLost } = packets.frame(index, input);
        if (isEarlierLost) {
          lost += 1;
          refuseValue(incomplete(input));
        }
        if (data === undefined) return;
        whole = { pgn: input.pgn, sender: input.sender, timeMs: input.timeMs, data, length: data.length };
      }
      messages += 1;
      const before = messagesPerPgn.get(input.pgn);
      if (before !== undefined || messagesPerPgn.size < PGNS_MAX) messagesPerPgn.set(input.pgn, (before ?? 0) + 1);
      if (index >= 0) readWhole(index, whole, refuseValue);
    },
    summary: () => ({
      messages,
      messagesPerPgn,
      fastPacketsUnfinished: packets.unfinished(),
      fastPacketsLost: lost,
      framesOutOfSequence: packets.outOfSequence(),
      quantities: [...origins.values()].flat().flatMap(({ quantity }) => (quantity.messages > 0 ? [quantity] : [])),
      quantitiesLeftOut: leftOut,
      engineStatus: [...statuses.values()],
      enginesLeftOut,
    }),
  };
}

function emptyQuantity(p: {
  parameter: N2kParameter;
  sender: number;
  instance: number;
  source: number;
  target: Target | undefined;
}): QuantitySummary {
  return {
    name: p.parameter.field,
    sender: String(p.sender),
    pgn: p.parameter.pgn,
    instance: p.instance < 0 ? undefined : p.instance,
    source: p.source < 0 ? undefined : p.source,
    signal: p.target?.signal,
    unit: p.parameter.unit,
    messages: 0,
    notAvailable: 0,
    error: 0,
    reserved: 0,
    wrongFill: 0,
    statistics: emptyStatistics(),
    times: 0,
    firstValues: [],
  };
}

// Counts a code, and says whether it is the first of its kind here.
function count(quantity: QuantitySummary, kind: Exclude<ReturnType<typeof n2kKind>, 'valid'>): boolean {
  const name = kind === 'not_available' ? 'notAvailable' : kind === 'wrong_fill' ? 'wrongFill' : kind;
  quantity[name] += 1;
  return quantity[name] === 1;
}

function wrongFill(quantity: QuantitySummary): Reject {
  const { name, sender, pgn, signal } = quantity;
  return {
    code: 'value_out_of_range',
    field: signal ?? name,
    detail: `Sender ${sender} fills ${name} of PGN ${pgn} with ones, which reads as just below zero: it has no such value. Here and in what follows such values are left out, and counted in the report.`,
  };
}

function incomplete(input: N2kInput): Reject {
  return {
    code: 'transport_incomplete',
    field: `PGN ${input.pgn}`,
    detail: `A fast packet of PGN ${input.pgn} from sender ${input.sender} was not completed; its frames are missing in the log.`,
  };
}

function countStatus(statuses: Map<string, EngineStatus>, input: N2kInput): void {
  const [first, second] = STATUS_WORD_BYTES;
  if (input.length < second + 1) return;
  const word = (byte: number) => (input.data[byte - 1] as number) | ((input.data[byte] as number) << 8);
  const state = {
    sender: input.sender,
    instance: input.data[0] as number,
    status1: word(first),
    status2: word(second),
  };
  const key = `${state.sender}/${state.instance}/${state.status1}/${state.status2}`;
  const known = statuses.get(key);
  if (known !== undefined) known.messages += 1;
  else if (statuses.size < STATES_MAX) statuses.set(key, { ...state, messages: 1 });
}
