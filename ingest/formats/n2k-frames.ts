import type { Reject } from '../../schemas/reject.ts';
import { type N2kRule, unitsOfRule } from '../../schemas/source-rule.ts';
import { clockReject } from '../checks.ts';
import type { DecodeContext, Decoder } from './decoder.ts';
import { COMMENT, createLineDecoder, refused, TAKEN } from './line-decoder.ts';
import { createN2kLine, readN2kLine } from './n2k-line.ts';
import { createN2kReader } from './n2k-messages.ts';

const REJECTS = {
  unreadable: {
    code: 'frame_unreadable',
    field: '',
    detail:
      'The line is no message of the form TIME,PRIORITY,PGN,SOURCE,DESTINATION,LENGTH,bytes, such as "2024-05-01T10:00:00.000Z,2,127488,16,255,8,00,50,0c,ff,ff,7f,ff,ff".',
  },
  too_short: {
    code: 'frame_unreadable',
    field: '',
    detail: 'The message has fewer bytes than its length says; check that the line is whole.',
  },
  too_long: {
    code: 'frame_too_long',
    field: '',
    detail: 'The message has more bytes than its length says, or than a message can have (1,785).',
  },
  time: {
    code: 'time_unreadable',
    field: 'time',
    detail: 'The message does not begin with a time such as 2024-05-01T10:00:00.000Z; have the recorder write it.',
  },
} as const satisfies Record<string, Reject>;

/**
 * Decoder for NMEA 2000 messages as lines of comma-separated text. Fast packets may be joined, as gateways write them,
 * or stand as their frames of eight bytes. Messages of other content are accepted and carry nothing of ours; lines that
 * begin with `#` are no rows.
 */
export function createN2kFramesDecoder(context: DecodeContext<N2kRule>): Decoder {
  const { rule } = context;
  const reader = createN2kReader(rule);
  const line = createN2kLine();
  const tally = { comments: 0, firstMs: Number.NaN, lastMs: Number.NaN };
  const units = unitsOfRule(rule);
  return createLineDecoder({
    unit: units.length === 1 ? units[0] : undefined,
    reader: {
      line(bytes, start, end, refuseValue) {
        const outcome = readN2kLine(line, bytes, start, end);
        if (outcome === 'comment') {
          tally.comments += 1;
          return COMMENT;
        }
        if (outcome !== 'message') return refused(REJECTS[outcome]);
        const reject = clockReject(line.timeMs, context.clock);
        if (reject !== undefined) return refused(reject);
        if (Number.isNaN(tally.firstMs)) tally.firstMs = line.timeMs;
        tally.lastMs = line.timeMs;
        reader.read(line, refuseValue);
        reader.samples.countRow(line.timeMs);
        return TAKEN;
      },
      isFull: reader.samples.isFull,
      take: reader.samples.take,
      summary: () => ({ statistics: reader.samples.statistics, n2k: { ...tally, ...reader.summary() } }),
    },
  });
}
