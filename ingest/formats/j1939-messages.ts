import type { SignalKey } from '../../schemas/signals.ts';
import { type J1939Parameter, PARAMETER_ALIVE_MS, parametersOf, rawKind } from './j1939-parameters.ts';
import type { ParameterSummary } from './j1939-summary.ts';
import { addValue, emptyStatistics } from './running-statistics.ts';

/** Number of PGNs: 18 bits. */
export const PGN_COUNT = 0x40000;

const ADDRESS_COUNT = 256;

/** Takes the numbers out of messages, for every sender by itself. */
export type MessageReader = {
  /** Signals in the order of their index. */
  readonly keys: readonly SignalKey[];
  /** Whether a PGN carries a parameter that is read. */
  isRead(pgn: number): boolean;
  /** Reads a message's parameters, and hands on those of the engine that are to be believed now. */
  read(message: { pgn: number; sourceAddress: number; timeMs: number; data: Uint8Array; length: number }): void;
  summaries(): readonly ParameterSummary[];
};

/**
 * A reader of messages.
 *
 * @param p.sourceAddress - The engine's; messages of others are counted and never taken for it.
 * @param p.onValue - Called with each value of the engine, by the rank of its parameter. Where several parameters give
 *   one signal, a lower one is held back while a better one has been valid within {@link PARAMETER_ALIVE_MS}.
 */
export function createMessageReader(p: {
  sourceAddress: number;
  boostReference: 'gauge' | 'absolute' | undefined;
  onValue: (value: { signal: number; value: number; timeMs: number }) => void;
}): MessageReader {
  const parameters = parametersOf({ boostReference: p.boostReference });
  const keys = [...new Set(parameters.map((item) => item.signal))];
  const pgns = [...new Set(parameters.map((item) => item.pgn))];
  const messageOfPgn = new Int16Array(PGN_COUNT).fill(-1);
  for (const [index, pgn] of pgns.entries()) messageOfPgn[pgn] = index;
  const layouts = pgns.map((pgn) => parameters.filter((item) => item.pgn === pgn));
  const summaries: (ParameterSummary[] | undefined)[] = new Array(pgns.length * ADDRESS_COUNT).fill(undefined);
  const better = createRankKeeper(parameters);
  const signalOf = new Map(parameters.map((item) => [item, keys.indexOf(item.signal)] as const));

  const take = (
    summary: ParameterSummary,
    message: { sourceAddress: number; timeMs: number; data: Uint8Array; length: number },
  ) => {
    const { parameter } = summary;
    const last = parameter.firstByte + parameter.byteCount - 1;
    // A short message does not hold this parameter.
    if (message.length < last) return;
    summary.frames += 1;
    const kind = rawKind(message.data[last - 1] as number);
    if (kind === 'not_available') summary.notAvailable += 1;
    else if (kind === 'error') summary.error += 1;
    else if (kind === 'reserved') summary.reserved += 1;
    if (kind !== 'valid') return;
    let raw = 0;
    for (let byte = last - 1; byte >= parameter.firstByte - 1; byte -= 1)
      raw = raw * 256 + (message.data[byte] as number);
    // Divided by the steps in a unit, which are exact where the step itself (0.05, 0.1, 0.4) is not.
    const value = raw / (1 / parameter.scale) + parameter.offset;
    addValue(summary.statistics, { value, timeMs: message.timeMs });
    if (message.sourceAddress !== p.sourceAddress || !better.isBest(parameter, message.timeMs)) return;
    p.onValue({ signal: signalOf.get(parameter) ?? -1, value, timeMs: message.timeMs });
  };

  return {
    keys,
    isRead: (pgn) => (messageOfPgn[pgn] as number) >= 0,
    read(message) {
      const index = messageOfPgn[message.pgn] as number;
      if (index < 0) return;
      const slot = index * ADDRESS_COUNT + message.sourceAddress;
      let found = summaries[slot];
      if (found === undefined) {
        found = (layouts[index] ?? []).map((item) => emptySummary(item, message.sourceAddress));
        summaries[slot] = found;
      }
      for (const summary of found) take(summary, message);
    },
    summaries: () =>
      summaries
        .flatMap((item) => item ?? [])
        .filter((item) => item.frames > 0)
        .sort(
          (a, b) =>
            a.parameter.pgn - b.parameter.pgn || a.parameter.spn - b.parameter.spn || a.sourceAddress - b.sourceAddress,
        ),
  };
}

function emptySummary(parameter: J1939Parameter, sourceAddress: number): ParameterSummary {
  return { parameter, sourceAddress, frames: 0, notAvailable: 0, error: 0, reserved: 0, statistics: emptyStatistics() };
}

// Remembers when each parameter that has rivals was last valid.
function createRankKeeper(parameters: readonly J1939Parameter[]) {
  const lastValidMs = new Map<J1939Parameter, number>();
  const rivals = new Map(
    parameters.map(
      (item) => [item, parameters.filter((other) => other.signal === item.signal && other.rank < item.rank)] as const,
    ),
  );
  const isRivalled = new Set(
    parameters.filter((item) => parameters.some((other) => other.signal === item.signal && other !== item)),
  );
  return {
    isBest(parameter: J1939Parameter, timeMs: number): boolean {
      if (!isRivalled.has(parameter)) return true;
      lastValidMs.set(parameter, timeMs);
      return !(rivals.get(parameter) ?? []).some((rival) => {
        const last = lastValidMs.get(rival);
        return last !== undefined && timeMs - last <= PARAMETER_ALIVE_MS;
      });
    },
  };
}
