// Candump text decoded by us and by general-purpose Python packages (python-can reads the text, cantools decodes the same
// parameters by a table made from ours), in turn, on the same frames in the same run. Needs a Python with both packages:
// PYTHON=/path/to/python npm run -s bench -- candump-beside-python [frames]
import { spawnSync } from 'node:child_process';
import { closeSync, mkdtempSync, openSync, readFileSync, readSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { clockLimits } from '../ingest/checks.ts';
import { createDecoder } from '../ingest/formats/formats.ts';
import { J1939_PARAMETERS } from '../ingest/formats/j1939-parameters.ts';
import { writeBenchBusLog } from './ingest-files.ts';

const frames = Number(process.argv[2] ?? 400_000);
const ROUNDS = 3;
const folder = mkdtempSync(join(tmpdir(), 'bench-candump-'));

const PYTHON = `
import sys, time, can, cantools
db = cantools.database.load_file(sys.argv[2])
by_id = {message.frame_id & 0x3FFFF00: message for message in db.messages}
begun = time.process_time()
frames = values = 0
for frame in can.CanutilsLogReader(sys.argv[1]):
    frames += 1
    if not frame.is_extended_id or frame.is_remote_frame:
        continue
    message = by_id.get(frame.arbitration_id & 0x3FFFF00)
    if message is None or len(frame.data) < message.length:
        continue
    values += len(message.decode(bytes(frame.data), decode_choices=False))
print(frames, values, time.process_time() - begun)
`;

try {
  const path = join(folder, 'bus.log');
  const table = join(folder, 'parameters.dbc');
  const text = gunzipSync(
    readFileSync(new URL('../test/data/j1939-bench-key-on/j1939-bench-key-on.log.gz', import.meta.url)),
  ).toString('latin1');
  writeBenchBusLog(path, { text, frames });
  writeFileSync(table, parameterTable());
  const ratios: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    const ours = decodeOurs(path);
    const theirs = decodePython(path, table);
    ratios.push(ours / theirs);
    console.log(`ours ${rate(ours)}, Python ${rate(theirs)}, ratio ${(ours / theirs).toFixed(1)}`);
  }
  console.log(
    `median ratio ${ratios.sort((a, b) => a - b)[ROUNDS >> 1]?.toFixed(1)} over ${frames} frames, by processor time`,
  );
} finally {
  rmSync(folder, { recursive: true, force: true });
}

function decodeOurs(path: string): number {
  const decoder = createDecoder({
    rule: { id: 'bus', files: '*', format: 'j1939_candump', unit: 'truck-1', sourceAddress: 0 },
    unitIds: new Set(['truck-1']),
    clock: clockLimits(Date.UTC(2027, 0, 1)),
  });
  const begun = process.cpuUsage();
  const file = openSync(path, 'r');
  const buffer = Buffer.alloc(256 * 1024);
  for (let read = readSync(file, buffer); read > 0; read = readSync(file, buffer))
    decoder.push(buffer.subarray(0, read));
  decoder.finish();
  closeSync(file);
  const used = process.cpuUsage(begun);
  return frames / ((used.user + used.system) / 1e6);
}

function decodePython(path: string, table: string): number {
  const run = spawnSync(process.env['PYTHON'] ?? 'python3', ['-c', PYTHON, path, table], { encoding: 'utf8' });
  if (run.status !== 0)
    throw new Error(`Python could not decode; set PYTHON to one that has python-can and cantools.\n${run.stderr}`);
  const [count, , seconds] = run.stdout.trim().split(' ').map(Number);
  return (count ?? 0) / (seconds ?? 1);
}

/** Our parameters as a table in the DBC form that the Python packages read. */
function parameterTable(): string {
  const byPgn = new Map<number, typeof J1939_PARAMETERS>();
  for (const one of J1939_PARAMETERS) byPgn.set(one.pgn, [...(byPgn.get(one.pgn) ?? []), one]);
  const messages = [...byPgn].map(([pgn, parameters]) => {
    const id = (0x80000000 + ((6 << 26) | (pgn << 8))) >>> 0;
    const signals = parameters.map(
      (one) =>
        ` SG_ S${one.spn} : ${8 * (one.firstByte - 1)}|${8 * one.byteCount}@1+ (${one.scale},${one.offset}) [0|0] "" Vector__XXX`,
    );
    return `BO_ ${id} P${pgn}: 8 Vector__XXX\n${signals.join('\n')}\n`;
  });
  return `VERSION ""\n\nBU_:\n\n${messages.join('\n')}`;
}

function rate(perSecond: number): string {
  return `${(perSecond / 1000).toFixed(0)}k frames/s`;
}
