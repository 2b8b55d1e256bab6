import { assertBlock, type SampleBlock, type TroubleCode } from '../../schemas/sample-block.ts';
import { isSignalKey, type SignalKey } from '../../schemas/signals.ts';
import {
  type ByteReader,
  createByteReader,
  createByteWriter,
  finishBytes,
  need,
  readByte,
  readFloat,
  readText,
  readVarint,
  unreadable,
  writeByte,
  writeFloat,
  writeText,
  writeVarint,
} from '../bytes.ts';
import { PortError } from '../port-error.ts';
import { readColumn, writeColumn } from './column-codec.ts';
import { readTimes, writeTimes } from './time-codec.ts';

/** First byte of every packed block. A change of the layout takes the next number and keeps reading the old ones. */
const FORMAT_VERSION = 1;

const writer = createByteWriter(65_536);

/**
 * A block as few bytes: what the log stores for one record of the topic `samples`.
 *
 * Nothing is rounded: {@link decodeBlock} gives back every number bit for bit, -0 and NaN included. Columns that are
 * `undefined` are left out. Texts must be well-formed UTF-16. A checksum at the end finds damage.
 *
 * @throws AssertionError when a column is not as long as the times: a bug of the writer.
 */
export function encodeBlock(block: SampleBlock): Uint8Array {
  assertBlock(block);
  writer.at = 0;
  writeByte(writer, FORMAT_VERSION);
  writeText(writer, block.unit);
  writeText(writer, block.source);
  writeVarint(writer, block.t.length);
  writeTimes(writer, block.t);
  writeTroubleCodes(block.troubleCodes);
  const keys = (Object.keys(block.signals) as SignalKey[]).filter((key) => block.signals[key] !== undefined);
  writeVarint(writer, keys.length);
  for (const key of keys) {
    writeText(writer, key);
    writeColumn(writer, block.signals[key] ?? []);
  }
  return finishBytes(writer);
}

/**
 * The block that {@link encodeBlock} was given.
 *
 * @throws PortError `record_unreadable` when the bytes are damaged, `version_newer` when a later chargeair wrote them.
 */
export function decodeBlock(bytes: Uint8Array): SampleBlock {
  const version = bytes[0] ?? 0;
  const reader = createByteReader(bytes, 'log');
  if (version !== FORMAT_VERSION) throw unknownVersion(version);
  readByte(reader);
  const unit = readText(reader);
  const source = readText(reader);
  const length = readVarint(reader);
  // Every time takes at least a byte, so damage cannot ask for more memory than the record has bytes.
  need(reader, length);
  const t = readTimes(reader, length);
  const troubleCodes = readTroubleCodes(reader);
  const signals: { [K in SignalKey]?: (number | null)[] } = {};
  for (let rest = readVarint(reader); rest > 0; rest -= 1) {
    const key = readText(reader);
    if (!isSignalKey(key)) throw unreadable(reader, `it holds the unknown signal "${key}"`);
    if (signals[key] !== undefined) throw unreadable(reader, `it holds the signal "${key}" twice`);
    signals[key] = readColumn(reader, length);
  }
  if (reader.at !== reader.end) throw unreadable(reader, 'more follows after its end');
  return { version: 1, unit, source, t, signals, ...(troubleCodes === undefined ? {} : { troubleCodes }) };
}

function unknownVersion(version: number): PortError {
  return new PortError({
    port: 'log',
    code: 'version_newer',
    message: `A stored sample block has format ${version}; this chargeair reads format ${FORMAT_VERSION}. Update chargeair.`,
    retryable: false,
  });
}

/** Trouble codes are few and rare, so they are written plainly; a leading 0 says that the block names none at all. */
function writeTroubleCodes(codes: readonly TroubleCode[] | undefined): void {
  writeVarint(writer, codes === undefined ? 0 : codes.length + 1);
  for (const code of codes ?? []) {
    writeFloat(writer, code.spn);
    writeFloat(writer, code.fmi);
    writeFloat(writer, code.count);
    writeFloat(writer, code.sourceAddress);
  }
}

function readTroubleCodes(reader: ByteReader): TroubleCode[] | undefined {
  const head = readVarint(reader);
  if (head === 0) return undefined;
  need(reader, (head - 1) * 32);
  const codes: TroubleCode[] = [];
  for (let i = 1; i < head; i += 1) {
    const spn = readFloat(reader);
    const fmi = readFloat(reader);
    const count = readFloat(reader);
    codes.push({ spn, fmi, count, sourceAddress: readFloat(reader) });
  }
  return codes;
}
