import { type Reject, refuse } from '../../schemas/reject.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import type { J1939Rule } from '../../schemas/source-rule.ts';
import { clockReject, EARLIEST_TIME_MS, rangeReject } from '../checks.ts';
import { appendBytes, createByteWindow } from './byte-window.ts';
import { createFrame, type FrameOutcome, readFrame } from './candump-frame.ts';
import { RECORD_MAX_BYTES } from './csv-record.ts';
import { BATCH_REJECTS, type DecodeContext, type DecodedBatch, type Decoder } from './decoder.ts';
import { createInterfaces } from './interfaces.ts';
import { createMessageReader, PGN_COUNT } from './j1939-messages.ts';
import { createTransport, TRANSPORT_CONTROL_PGN, TRANSPORT_DATA_PGN } from './j1939-transport.ts';
import {
  ACTIVE_TROUBLE_CODES_PGN,
  createDiagnosisLog,
  type DiagnosticState,
  readDiagnosis,
} from './j1939-trouble-codes.ts';
import { createRejectCollector } from './reject-collector.ts';
import { addValue, emptyStatistics, type RunningStatistics } from './running-statistics.ts';
import { createSecondMeans } from './second-means.ts';
import { parseIsoInstant } from './time-reader.ts';

/** Bus logs come in order; a minute stays open for what is written late. */
const OPEN_SECONDS_MAX = 60;
/** Lines in a batch: a bus at full load has some 2,000 frames a second. */
const BATCH_FRAMES = 131_072;

const DETAILS = {
  unreadable:
    'The line is no frame of a candump text log, such as "(1589326646.631333) can1 18FEF600#FF32490000FFFFFF".',
  too_long: 'The frame has more than 8 data bytes, or more than it states; a classical CAN frame has 8 at most.',
  flexible: 'CAN FD frames are not read; SAE J1939 on classical CAN is.',
  line_too_long:
    'The line is longer than 64 KiB; no frame is, so check that the file is a bus log and that its line ends are right.',
} as const;

/**
 * Decoder for SAE J1939 in candump text logs. Every line is a row; frames of other senders, 11-bit and remote frames and
 * messages of other content are accepted and carry nothing of ours.
 */
export function createJ1939CandumpDecoder(context: DecodeContext<J1939Rule>): Decoder {
  const { rule } = context;
  const window = createByteWindow();
  const frame = createFrame();
  const rejects = createRejectCollector();
  const transport = createTransport();
  const diagnoses = createDiagnosisLog();
  const interfaces = createInterfaces(rule.interface);
  const framesPerPgn = new Uint32Array(PGN_COUNT);
  const statistics = new Map<SignalKey, RunningStatistics>();
  const startMs = rule.startsAt === undefined ? 0 : parseIsoInstant(rule.startsAt);
  const tally = { rows: 0, frames: 0, remote: 0, standard: 0, backwards: 0, firstMs: Number.NaN, lastMs: Number.NaN };
  let batchRows = 0;
  let shiftMs: number | undefined;
  let problem: Reject | undefined;
  let batches: DecodedBatch[] = [];
  let lineStart = 0;
  let lineEnd = 0;
  let isDropping = false;
  const line = () => window.bytes.subarray(lineStart, lineEnd);
  const messages = createMessageReader({
    sourceAddress: rule.sourceAddress,
    boostReference: rule.references?.boostPressure,
    onValue({ signal, value, timeMs }) {
      const key = messages.keys[signal] as SignalKey;
      const reject = rangeReject({ key, value });
      if (reject !== undefined) {
        rejects.value({ reject, position: tally.rows, raw: line(), unit: rule.unit });
        return;
      }
      let running = statistics.get(key);
      if (running === undefined) {
        running = emptyStatistics();
        statistics.set(key, running);
      }
      addValue(running, { value, timeMs });
      means.add({ signal, timeMs, value });
    },
  });
  const means = createSecondMeans({
    unit: rule.unit,
    keys: messages.keys,
    openSecondsMax: OPEN_SECONDS_MAX,
    troubleCodes: () => diagnoses.codesOf(rule.sourceAddress),
  });

  const cut = (isLast: boolean): void => {
    const { samples, emptyRows } = means.take(isLast);
    batches.push({ samples: samples === undefined ? [] : [samples], emptyRows, repeatedRows: 0, ...rejects.take() });
    batchRows = 0;
  };
  const refuseRow = (reject: Reject): void =>
    rejects.row({ reject, position: tally.rows, raw: line(), unit: rule.unit });

  const diagnose = (
    data: Uint8Array,
    sourceAddress: number,
    how: DiagnosticState['transport'],
    timeMs: number,
  ): void => {
    const diagnosis = readDiagnosis({ data, sourceAddress });
    if (diagnosis !== undefined) diagnoses.add({ diagnosis, sourceAddress, transport: how, timeMs });
  };
  const readTransport = (pgn: number, sourceAddress: number, destination: number, timeMs: number): void => {
    const message = { sourceAddress, destination, data: frame.data, length: frame.length };
    if (pgn === TRANSPORT_CONTROL_PGN) {
      const lost = transport.control(message);
      if (lost === undefined || !(lost === ACTIVE_TROUBLE_CODES_PGN || messages.isRead(lost))) return;
      const detail = `A message of PGN ${lost} from source address ${sourceAddress} was not completed; its packets are missing in the log.`;
      rejects.value({
        reject: { code: 'transport_incomplete', field: `PGN ${lost}`, detail },
        position: tally.rows,
        raw: line(),
        unit: rule.unit,
      });
      return;
    }
    const done = transport.packet(message);
    if (done === undefined) return;
    if (done.pgn === ACTIVE_TROUBLE_CODES_PGN) diagnose(done.data, sourceAddress, done.how, timeMs);
    else if (done.pgn < PGN_COUNT)
      messages.read({ pgn: done.pgn, sourceAddress, timeMs, data: done.data, length: done.data.length });
  };

  const readExtended = (timeMs: number): void => {
    const { identifier } = frame;
    let pgn = (identifier >>> 8) & (PGN_COUNT - 1);
    const specific = pgn & 0xff;
    // PDU format below 240: the specific byte is the destination (SAE J1939-21).
    if (((pgn >> 8) & 0xff) < 240) pgn &= 0x3ff00;
    framesPerPgn[pgn] = (framesPerPgn[pgn] as number) + 1;
    const sourceAddress = identifier & 0xff;
    if (pgn === ACTIVE_TROUBLE_CODES_PGN)
      diagnose(frame.data.subarray(0, frame.length), sourceAddress, 'single_frame', timeMs);
    else if (pgn === TRANSPORT_CONTROL_PGN || pgn === TRANSPORT_DATA_PGN)
      readTransport(pgn, sourceAddress, specific, timeMs);
    else messages.read({ pgn, sourceAddress, timeMs, data: frame.data, length: frame.length });
  };

  const readTimed = (): void => {
    if (shiftMs === undefined) {
      shiftMs = frame.timeMs < EARLIEST_TIME_MS ? startMs : 0;
      if (frame.timeMs < EARLIEST_TIME_MS && rule.startsAt === undefined) {
        problem = refuse(
          'clock_before_fleet',
          'time',
          'The times of the log count from its start and no source rule says when that was; give startsAt with an offset in the source rule.',
        ).reject;
        refuseRow(problem);
        return;
      }
    }
    const timeMs = frame.timeMs + shiftMs;
    const late = clockReject(timeMs, context.clock);
    if (late !== undefined) {
      refuseRow(late);
      return;
    }
    if (timeMs < tally.lastMs) tally.backwards += 1;
    tally.lastMs = timeMs;
    means.countRow(timeMs);
    const isRead = interfaces.count(window.bytes, frame.interfaceStart, frame.interfaceEnd, frame.isRemote);
    if (frame.isRemote) {
      tally.remote += 1;
      return;
    }
    if (Number.isNaN(tally.firstMs)) tally.firstMs = timeMs;
    tally.frames += 1;
    if (!frame.isExtended) tally.standard += 1;
    // Above 29 bits stand the marks of error frames.
    else if (isRead && frame.identifier <= 0x1fffffff) readExtended(timeMs);
  };

  const readLine = (): void => {
    tally.rows += 1;
    batchRows += 1;
    const outcome: FrameOutcome = readFrame(frame, window.bytes, lineStart);
    if (outcome === 'frame') readTimed();
    else
      refuseRow({
        code: outcome === 'too_long' ? 'frame_too_long' : 'frame_unreadable',
        field: '',
        detail: DETAILS[outcome],
      });
    if (batchRows >= BATCH_FRAMES || rejects.pending >= BATCH_REJECTS) cut(false);
  };

  const isBlank = (): boolean => {
    let at = lineStart;
    while (at < lineEnd && (window.bytes[at] as number) <= 0x20) at += 1;
    return at === lineEnd;
  };

  const scan = (isLast: boolean): void => {
    while (window.start < window.end && problem === undefined) {
      lineStart = window.start;
      const feed = window.bytes.indexOf(0x0a, lineStart);
      const isWhole = feed >= 0 && feed < window.end;
      lineEnd = isWhole ? feed : window.end;
      if (!isWhole && !isLast && lineEnd - lineStart <= RECORD_MAX_BYTES) return;
      window.start = isWhole ? feed + 1 : window.end;
      if (isDropping) isDropping = !isWhole;
      else if (lineEnd - lineStart > RECORD_MAX_BYTES) {
        tally.rows += 1;
        batchRows += 1;
        refuseRow({ code: 'line_too_long', field: '', detail: DETAILS.line_too_long });
        isDropping = !isWhole;
      } else if (!isBlank()) readLine();
    }
  };
  const given = (): DecodedBatch[] => {
    const done = batches;
    batches = [];
    return done;
  };
  return {
    push(bytes) {
      if (problem !== undefined) return [];
      appendBytes(window, bytes);
      scan(false);
      return given();
    },
    finish() {
      scan(true);
      cut(true);
      return given();
    },
    standing: () => (problem === undefined ? { rowCount: tally.rows } : { rowCount: tally.rows, problem }),
    summary: () => ({
      rowCount: tally.rows,
      statistics,
      ...(problem === undefined ? {} : { problem }),
      bus: {
        frames: tally.frames,
        remoteFrames: tally.remote,
        standardFrames: tally.standard,
        interfaces: interfaces.counts,
        readInterface: interfaces.readName(),
        timesGoingBack: tally.backwards,
        firstMs: tally.firstMs,
        lastMs: tally.lastMs,
        framesPerPgn: countsByPgn(framesPerPgn),
        parameters: messages.summaries(),
        troubleCodes: diagnoses.states(),
        troubleCodesLeftOut: diagnoses.leftOut(),
        transport: transport.summary(),
      },
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
