import type { TroubleCode } from '../../schemas/sample-block.ts';

/** PGN of the active trouble codes, SAE J1939-73 DM1. */
export const ACTIVE_TROUBLE_CODES_PGN = 65_226;

/** A lamp's two bits, SAE J1939-73: 00 off, 01 on, 10 error, 11 not available. */
export type LampState = 'off' | 'on' | 'error' | 'notAvailable';

/** The lamps and codes of one message. */
export type Diagnosis = {
  readonly malfunctionIndicator: LampState;
  readonly redStop: LampState;
  readonly amberWarning: LampState;
  readonly protect: LampState;
  readonly codes: readonly (TroubleCode & { readonly conversionMethod: 0 | 1 })[];
};

/** How one sender's diagnosis stood, and how often it said so. */
export type DiagnosticState = Diagnosis & {
  readonly sourceAddress: number;
  readonly transport: 'single_frame' | 'broadcast' | 'connection';
  messages: number;
  readonly firstMs: number;
  lastMs: number;
};

/** States that are told apart in one file. */
const STATES_MAX = 200;
const CODE_BYTES = 4;
const LAMPS: readonly LampState[] = ['off', 'on', 'error', 'notAvailable'];

/**
 * Reads a DM1 message: byte 1 the lamps, byte 2 their flashing, then four bytes a code.
 *
 * @returns `undefined` when it is too short to hold one code. One code of zeroes alone, or of ones alone, means none.
 */
function readDiagnosis(p: { data: Uint8Array; sourceAddress: number }): Diagnosis | undefined {
  const { data, sourceAddress } = p;
  if (data.length < 2 + CODE_BYTES) return undefined;
  const lamp = (shift: number): LampState => LAMPS[((data[0] as number) >> shift) & 3] ?? 'notAvailable';
  const count = data.length === 8 ? 1 : Math.floor((data.length - 2) / CODE_BYTES);
  const codes: Diagnosis['codes'][number][] = [];
  for (let i = 0; i < count; i += 1) {
    const at = 2 + i * CODE_BYTES;
    const [a, b, c, d] = [data[at], data[at + 1], data[at + 2], data[at + 3]] as [number, number, number, number];
    const spn = a | (b << 8) | ((c >> 5) << 16);
    const isFiller = (a | b | c | d) === 0 || (a & b & c & d) === 0xff;
    if (isFiller) continue;
    codes.push({ spn, fmi: c & 0x1f, count: d & 0x7f, sourceAddress, conversionMethod: d >> 7 === 1 ? 1 : 0 });
  }
  return { malfunctionIndicator: lamp(6), redStop: lamp(4), amberWarning: lamp(2), protect: lamp(0), codes };
}

/** Keeps every state that was sent, and the newest of each sender. */
export type DiagnosisLog = {
  /** Takes a DM1 message; one that is too short is left out. */
  add(message: {
    data: Uint8Array;
    sourceAddress: number;
    transport: DiagnosticState['transport'];
    timeMs: number;
  }): void;
  /** Newest codes of a sender; `undefined` while it has sent none of either kind. */
  codesOf(sourceAddress: number): readonly TroubleCode[] | undefined;
  states(): readonly DiagnosticState[];
  leftOut(): number;
};

type Newest = {
  readonly data: Uint8Array;
  readonly transport: DiagnosticState['transport'];
  readonly codes: readonly TroubleCode[];
  /** `undefined` when there are too many states to list this one. */
  readonly state: DiagnosticState | undefined;
};

/** A log of diagnoses for one file. */
export function createDiagnosisLog(): DiagnosisLog {
  const states = new Map<string, DiagnosticState>();
  const newest = new Map<number, Newest>();
  let leftOut = 0;
  const count = (state: DiagnosticState | undefined, timeMs: number): void => {
    if (state === undefined) leftOut += 1;
    else {
      state.messages += 1;
      state.lastMs = timeMs;
    }
  };
  const stateOf = (
    diagnosis: Diagnosis,
    message: { sourceAddress: number; transport: DiagnosticState['transport']; timeMs: number },
  ): DiagnosticState | undefined => {
    const { sourceAddress, transport, timeMs } = message;
    const key = JSON.stringify([sourceAddress, transport, diagnosis]);
    const known = states.get(key);
    if (known !== undefined || states.size >= STATES_MAX) return known;
    const state = { ...diagnosis, sourceAddress, transport, messages: 0, firstMs: timeMs, lastMs: timeMs };
    states.set(key, state);
    return state;
  };
  return {
    add(message) {
      const { data, sourceAddress, transport, timeMs } = message;
      // A sender mostly says again what it said a second ago.
      const last = newest.get(sourceAddress);
      if (last !== undefined && last.transport === transport && sameBytes(last.data, data)) {
        count(last.state, timeMs);
        return;
      }
      const diagnosis = readDiagnosis({ data, sourceAddress });
      if (diagnosis === undefined) return;
      const state = stateOf(diagnosis, message);
      count(state, timeMs);
      const codes = diagnosis.codes.map(({ spn, fmi, count: occurrences }) => ({
        spn,
        fmi,
        count: occurrences,
        sourceAddress,
      }));
      newest.set(sourceAddress, { data: data.slice(), transport, codes, state });
    },
    codesOf: (sourceAddress) => newest.get(sourceAddress)?.codes,
    states: () => [...states.values()],
    leftOut: () => leftOut,
  };
}

function sameBytes(a: Uint8Array, b: Uint8Array): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i += 1) if (a[i] !== b[i]) return false;
  return true;
}
