import type { Reject } from '../../schemas/reject.ts';
import { type N2kRule, unitsOfRule } from '../../schemas/source-rule.ts';
import { clockReject } from '../checks.ts';
import { createFrame, readFrame } from './candump-frame.ts';
import type { DecodeContext, Decoder } from './decoder.ts';
import { createInterfaces } from './interfaces.ts';
import { createLineDecoder, refused, TAKEN } from './line-decoder.ts';
import { createLogClock } from './log-clock.ts';
import { createN2kReader } from './n2k-messages.ts';

/** The last identifier of 29 bits; above stand the marks of error frames. */
const IDENTIFIER_MAX = 0x1fffffff;

const REJECTS = {
  unreadable: {
    code: 'frame_unreadable',
    field: '',
    detail: 'The line is no frame of a candump text log, such as "(1589326646.631333) can0 09F20101#601A00B706670D0B".',
  },
  too_long: {
    code: 'frame_too_long',
    field: '',
    detail: 'The frame has more than 8 data bytes, or more than it states; a frame of NMEA 2000 has 8 at most.',
  },
  flexible: {
    code: 'frame_unreadable',
    field: '',
    detail: 'CAN FD frames are not read; NMEA 2000 on classical CAN is.',
  },
  start_unknown: {
    code: 'clock_before_fleet',
    field: 'time',
    detail:
      'The times of the log count from its start and no source rule says when that was; give startsAt with an offset in the source rule.',
  },
} as const satisfies Record<string, Reject>;

/**
 * Decoder for NMEA 2000 in candump text logs, either form. Every line is a row; fast packets are put together by PGN,
 * sender and sequence counter, and a message has the time of its last frame.
 */
export function createN2kCandumpDecoder(context: DecodeContext<N2kRule>): Decoder {
  const { rule } = context;
  const reader = createN2kReader(rule);
  const frame = createFrame();
  const interfaces = createInterfaces(rule.interface);
  const clock = createLogClock(rule);
  const tally = { comments: 0, firstMs: Number.NaN, lastMs: Number.NaN };
  const units = unitsOfRule(rule);
  const read = (timeMs: number, refuseValue: (reject: Reject) => void): void => {
    const { identifier, data, length } = frame;
    const parameterGroup = (identifier >>> 8) & 0x3ffff;
    // PDU format below 240: the specific byte is the destination (SAE J1939-21, which NMEA 2000 builds on).
    const pgn = ((parameterGroup >> 8) & 0xff) < 240 ? parameterGroup & 0x3ff00 : parameterGroup;
    reader.read({ pgn, sender: identifier & 0xff, timeMs, data, length }, refuseValue);
  };
  return createLineDecoder({
    unit: units.length === 1 ? units[0] : undefined,
    reader: {
      line(bytes, start, _end, refuseValue) {
        const outcome = readFrame(frame, bytes, start);
        if (outcome !== 'frame') return refused(REJECTS[outcome]);
        const timeMs = clock.timeMs(frame.timeMs);
        if (timeMs === undefined) return { kind: 'stop', reject: REJECTS.start_unknown };
        const reject = clockReject(timeMs, context.clock);
        if (reject !== undefined) return refused(reject);
        if (Number.isNaN(tally.firstMs)) tally.firstMs = timeMs;
        tally.lastMs = timeMs;
        const isRead = interfaces.count(bytes, frame.interfaceStart, frame.interfaceEnd, frame.isRemote);
        const isData = frame.isExtended && !frame.isRemote && frame.identifier <= IDENTIFIER_MAX;
        if (isRead && isData) read(timeMs, refuseValue);
        reader.samples.countRow(timeMs);
        return TAKEN;
      },
      isFull: reader.samples.isFull,
      take: reader.samples.take,
      summary: () => ({ statistics: reader.samples.statistics, n2k: { ...tally, ...reader.summary() } }),
    },
  });
}
