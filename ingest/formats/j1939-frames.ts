import type { TroubleCode } from '../../schemas/sample-block.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import type { CanFrame } from './candump-frame.ts';
import { createMessageReader, PGN_COUNT } from './j1939-messages.ts';
import type { BusSummary } from './j1939-summary.ts';
import { createTransport, TRANSPORT_CONTROL_PGN, TRANSPORT_DATA_PGN } from './j1939-transport.ts';
import { ACTIVE_TROUBLE_CODES_PGN, createDiagnosisLog } from './j1939-trouble-codes.ts';

/** Reads the frames of a bus, whatever file or adapter they come from. */
export type FrameReader = {
  /** Signals in the order of their index. */
  readonly keys: readonly SignalKey[];
  /** A frame with a 29-bit identifier. */
  read(frame: CanFrame, timeMs: number): void;
  /** Active codes of the engine, newest; `undefined` while it has sent none of either kind. */
  engineCodes(): readonly TroubleCode[] | undefined;
  summary(): Pick<BusSummary, 'framesPerPgn' | 'parameters' | 'troubleCodes' | 'troubleCodesLeftOut' | 'transport'>;
};

/**
 * A reader of frames.
 *
 * @param p.sourceAddress - The engine's.
 * @param p.onValue - A value of the engine that is to be believed.
 * @param p.onIncomplete - A message that is read here will not be completed.
 */
export function createFrameReader(p: {
  sourceAddress: number;
  boostReference: 'gauge' | 'absolute' | undefined;
  onValue: (value: { signal: number; value: number; timeMs: number }) => void;
  onIncomplete: (message: { pgn: number; sourceAddress: number }) => void;
}): FrameReader {
  const messages = createMessageReader(p);
  const transport = createTransport();
  const diagnoses = createDiagnosisLog();
  const framesPerPgn = new Uint32Array(PGN_COUNT);

  const control = (frame: CanFrame, sourceAddress: number, destination: number): void => {
    const pgn = transport.control({ sourceAddress, destination, data: frame.data, length: frame.length });
    if (pgn === undefined || !(pgn === ACTIVE_TROUBLE_CODES_PGN || messages.isRead(pgn))) return;
    p.onIncomplete({ pgn, sourceAddress });
  };
  const packet = (frame: CanFrame, sourceAddress: number, destination: number, timeMs: number): void => {
    const done = transport.packet({ sourceAddress, destination, data: frame.data, length: frame.length });
    if (done === undefined) return;
    const { pgn, data } = done;
    if (pgn === ACTIVE_TROUBLE_CODES_PGN) diagnoses.add({ data, sourceAddress, transport: done.how, timeMs });
    else if (pgn < PGN_COUNT) messages.read({ pgn, sourceAddress, timeMs, data, length: data.length });
  };

  return {
    keys: messages.keys,
    read(frame, timeMs) {
      let pgn = (frame.identifier >>> 8) & (PGN_COUNT - 1);
      const specific = pgn & 0xff;
      // PDU format below 240: the specific byte is the destination (SAE J1939-21).
      if (((pgn >> 8) & 0xff) < 240) pgn &= 0x3ff00;
      framesPerPgn[pgn] = (framesPerPgn[pgn] as number) + 1;
      const sourceAddress = frame.identifier & 0xff;
      if (pgn === ACTIVE_TROUBLE_CODES_PGN) {
        const data = frame.data.subarray(0, frame.length);
        diagnoses.add({ data, sourceAddress, transport: 'single_frame', timeMs });
      } else if (pgn === TRANSPORT_CONTROL_PGN) control(frame, sourceAddress, specific);
      else if (pgn === TRANSPORT_DATA_PGN) packet(frame, sourceAddress, specific, timeMs);
      else messages.read({ pgn, sourceAddress, timeMs, data: frame.data, length: frame.length });
    },
    engineCodes: () => diagnoses.codesOf(p.sourceAddress),
    summary: () => ({
      framesPerPgn: countsByPgn(framesPerPgn),
      parameters: messages.summaries(),
      troubleCodes: diagnoses.states(),
      troubleCodesLeftOut: diagnoses.leftOut(),
      transport: transport.summary(),
    }),
  };
}

function countsByPgn(frames: Uint32Array): ReadonlyMap<number, number> {
  const counts = new Map<number, number>();
  for (let pgn = 0; pgn < frames.length; pgn += 1) {
    const count = frames[pgn] as number;
    if (count > 0) counts.set(pgn, count);
  }
  return counts;
}
