import { type Reject, refuse } from '../../schemas/reject.ts';
import { SIGNALS } from '../../schemas/signals.ts';
import type { J1939Rule } from '../../schemas/source-rule.ts';
import { clockReject, rangeReject } from '../checks.ts';
import { createFrame, readFrame } from './candump-frame.ts';
import { BATCH_REJECTS, type DecodeContext, type DecodedBatch, type Decoder } from './decoder.ts';
import { createInterfaces } from './interfaces.ts';
import { createFrameReader } from './j1939-frames.ts';
import type { BusSummary } from './j1939-summary.ts';
import { createLineScanner } from './line-scanner.ts';
import { createLogClock } from './log-clock.ts';
import { createRejectCollector } from './reject-collector.ts';
import { addValue, emptyStatistics } from './running-statistics.ts';
import { createSecondMeans, type SecondMeans } from './second-means.ts';

/** Bus logs come in order; a minute stays open for what is written late. */
const OPEN_SECONDS_MAX = 60;
/** Lines in a batch: a bus at full load has some 2,000 frames a second. */
const BATCH_FRAMES = 131_072;

/** The last identifier of 29 bits; above stand the marks of error frames. */
const IDENTIFIER_MAX = 0x1fffffff;

const DETAILS = {
  unreadable:
    'The line is no frame of a candump text log, such as "(1589326646.631333) can1 18FEF600#FF32490000FFFFFF".',
  too_long: 'The frame has more than 8 data bytes, or more than it states; a classical CAN frame has 8 at most.',
  flexible: 'CAN FD frames are not read; SAE J1939 on classical CAN is.',
  line_too_long:
    'The line is longer than 64 KiB; no frame is, so check that the file is a bus log and that its line ends are right.',
  start_unknown:
    'The times of the log count from its start and no source rule says when that was; give startsAt with an offset in the source rule.',
} as const;

/**
 * Decoder for SAE J1939 in candump text logs. Every line is a row; frames of other senders, 11-bit and remote frames and
 * messages of other content are accepted and carry nothing of ours.
 */
export function createJ1939CandumpDecoder(context: DecodeContext<J1939Rule>): Decoder {
  const { rule } = context;
  const frame = createFrame();
  const rejects = createRejectCollector();
  const interfaces = createInterfaces(rule.interface);
  const clock = createLogClock(rule);
  const tally = {
    rows: 0,
    batchRows: 0,
    frames: 0,
    remote: 0,
    standard: 0,
    backwards: 0,
    firstMs: Number.NaN,
    lastMs: Number.NaN,
  };
  let problem: Reject | undefined;
  let batches: DecodedBatch[] = [];
  let line: { readonly bytes: Uint8Array; readonly start: number; readonly end: number } = {
    bytes: new Uint8Array(),
    start: 0,
    end: 0,
  };
  const placed = (reject: Reject) => ({
    reject,
    position: tally.rows,
    raw: line.bytes.subarray(line.start, line.end),
    unit: rule.unit,
  });

  const reader = createFrameReader({
    sourceAddress: rule.sourceAddress,
    boostReference: rule.references?.boostPressure,
    onValue({ signal, value, timeMs }) {
      const { key, min, max, running } = signals[signal] as (typeof signals)[number];
      if (value >= min && value <= max) {
        addValue(running, { value, timeMs });
        means.add({ signal, timeMs, value });
        return;
      }
      const reject = rangeReject({ key, value });
      if (reject !== undefined) rejects.value(placed(reject));
    },
    onIncomplete({ pgn, sourceAddress }) {
      const detail = `A message of PGN ${pgn} from source address ${sourceAddress} was not completed; its packets are missing in the log.`;
      rejects.value(placed({ code: 'transport_incomplete', field: `PGN ${pgn}`, detail }));
    },
  });
  const signals = reader.keys.map((key) => ({
    key,
    min: SIGNALS[key].min,
    max: SIGNALS[key].max,
    running: emptyStatistics(),
  }));
  const statistics = () => new Map(signals.map(({ key, running }) => [key, running] as const));
  const means: SecondMeans = createSecondMeans({
    unit: rule.unit,
    keys: reader.keys,
    openSecondsMax: OPEN_SECONDS_MAX,
    troubleCodes: reader.engineCodes,
  });

  const cut = (isLast: boolean): void => {
    const { samples, emptyRows } = means.take(isLast);
    batches.push({ samples: samples === undefined ? [] : [samples], emptyRows, repeatedRows: 0, ...rejects.take() });
    tally.batchRows = 0;
  };
  const countLine = (bytes: Uint8Array, start: number, end: number): void => {
    line = { bytes, start, end };
    tally.rows += 1;
    tally.batchRows += 1;
  };
  const takeFrame = (bytes: Uint8Array, timeMs: number): void => {
    if (timeMs < tally.lastMs) tally.backwards += 1;
    tally.lastMs = timeMs;
    means.countRow(timeMs);
    const isRead = interfaces.count(bytes, frame.interfaceStart, frame.interfaceEnd, frame.isRemote);
    if (frame.isRemote) {
      tally.remote += 1;
      return;
    }
    if (Number.isNaN(tally.firstMs)) tally.firstMs = timeMs;
    tally.frames += 1;
    if (!frame.isExtended) tally.standard += 1;
    else if (isRead && frame.identifier <= IDENTIFIER_MAX) reader.read(frame, timeMs);
  };
  const readLine = (bytes: Uint8Array, start: number): void => {
    const outcome = readFrame(frame, bytes, start);
    if (outcome !== 'frame') {
      const code = outcome === 'too_long' ? 'frame_too_long' : 'frame_unreadable';
      rejects.row(placed({ code, field: '', detail: DETAILS[outcome] }));
      return;
    }
    const timeMs = clock.timeMs(frame.timeMs);
    if (timeMs === undefined) problem = refuse('clock_before_fleet', 'time', DETAILS.start_unknown).reject;
    const reject = timeMs === undefined ? problem : clockReject(timeMs, context.clock);
    if (reject !== undefined) rejects.row(placed(reject));
    else if (timeMs !== undefined) takeFrame(bytes, timeMs);
  };
  const cutWhenFull = (): void => {
    if (tally.batchRows >= BATCH_FRAMES || rejects.pending >= BATCH_REJECTS) cut(false);
  };
  const scanner = createLineScanner({
    line(bytes, start, end) {
      countLine(bytes, start, end);
      readLine(bytes, start);
      cutWhenFull();
    },
    tooLong(bytes, start, end) {
      countLine(bytes, start, end);
      rejects.row(placed({ code: 'line_too_long', field: '', detail: DETAILS.line_too_long }));
      cutWhenFull();
    },
    isStopped: () => problem !== undefined,
  });
  const given = (): DecodedBatch[] => {
    const done = batches;
    batches = [];
    return done;
  };
  const bus = (): BusSummary => ({
    frames: tally.frames,
    remoteFrames: tally.remote,
    standardFrames: tally.standard,
    interfaces: interfaces.counts,
    readInterface: interfaces.readName(),
    timesGoingBack: tally.backwards,
    firstMs: tally.firstMs,
    lastMs: tally.lastMs,
    ...reader.summary(),
  });
  const standing = () => (problem === undefined ? { rowCount: tally.rows } : { rowCount: tally.rows, problem });
  return {
    push(bytes) {
      scanner.push(bytes);
      return given();
    },
    finish() {
      scanner.finish();
      cut(true);
      return given();
    },
    flush() {
      cut(true);
      return given();
    },
    standing,
    summary: () => ({ ...standing(), statistics: statistics(), bus: bus() }),
  };
}
