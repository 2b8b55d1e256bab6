import { createHash } from 'node:crypto';
import { basename } from 'node:path';
import { assert } from '../schemas/assert.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import { type SourceRule, unitsOfRule } from '../schemas/source-rule.ts';
import type { Emit, Json, LogPort } from '../storage/log/port.ts';
import { clockLimits } from './checks.ts';
import { deadLetter } from './dead-letters.ts';
import { findRule } from './find-rule.ts';
import type { DecodedBatch } from './formats/decoder.ts';
import { createDecoder } from './formats/formats.ts';
import { createIntakes, INGEST_GROUP, type Intakes } from './intakes.ts';
import { LoadError } from './load-error.ts';
import { addTallies, decodeProgress, initialProgress, type LoadProgress, tallyTotal } from './load-progress.ts';
import { knownFileReport, type LoadReport, loadReport } from './load-report.ts';
import { fingerprintFile, readFileChunks } from './read-file.ts';
import { sniffRule } from './sniff.ts';

/** How far a load has come. */
export type LoadProgressNote = { readonly readBytes: number; readonly totalBytes: number; readonly rows: number };

export type LoadOptions = {
  readonly path: string;
  readonly fleet: FleetFile;
  readonly log: LogPort;
  /** The receiver's time, ms since 1970 UTC. */
  readonly nowMs: number;
  readonly onProgress?: (note: LoadProgressNote) => void;
  /** The rule to read it by; left out, the one of the fleet file that fits the file's name, else what the file says of itself. */
  readonly rule?: SourceRule;
  /** Whose readings a self-describing file holds. */
  readonly unit?: string;
};

const HEAD_BYTES = 65_536;

/**
 * Loads a file into the log: decodes it, checks it, and commits samples, dead letters and what the intake remembers in
 * bounded steps, each whole or not at all.
 *
 * The same file again, by content, adds nothing. After a crash the next call goes on behind the last step that is
 * durable, and neither loses nor doubles a row.
 *
 * @throws LoadError when the file cannot be read, no rule fits, or its unit is not in the fleet file.
 * @throws PortError when the log fails, `state_changed` among it: another loader has taken readings of this unit in.
 */
export async function loadFile(p: LoadOptions): Promise<LoadReport> {
  const file = basename(p.path);
  const { sizeBytes, sha256 } = await fingerprintFile(p.path);
  const rule = p.rule ?? findRule(p.fleet, file) ?? (await selfDescribed(p, file));
  checkUnit(p.fleet, rule);
  const fileKey = `file:${sha256}:${ruleFingerprint(rule)}`;
  const stored = (await p.log.states({ group: INGEST_GROUP, keys: [fileKey] })).get(fileKey);
  const done = stored === undefined ? initialProgress(file) : decodeProgress(stored.value);
  const named = { file, format: rule.format, source: rule.id };
  if (done.isDone) return knownFileReport({ ...named, progress: done });
  const load: Load = {
    ...named,
    sha256,
    fileKey,
    fileVersion: stored?.version ?? 0,
    progress: done,
    intakes: createIntakes({ log: p.log, source: rule.id, clock: clockLimits(p.nowMs) }),
    options: p,
  };
  return readInto(load, { rule, sizeBytes });
}

type Load = {
  readonly file: string;
  readonly format: string;
  readonly source: string;
  readonly sha256: string;
  readonly fileKey: string;
  fileVersion: number;
  progress: LoadProgress;
  readonly intakes: Intakes;
  readonly options: LoadOptions;
};

async function readInto(load: Load, p: { rule: SourceRule; sizeBytes: number }): Promise<LoadReport> {
  const { options } = load;
  const decoder = createDecoder({
    rule: p.rule,
    unitIds: new Set(options.fleet.units.map((unit) => unit.id)),
    clock: clockLimits(options.nowMs),
  });
  let refused = 0;
  let batch = 0;
  let damage: string | undefined;
  const take = async (batches: readonly DecodedBatch[]) => {
    for (const decoded of batches) {
      refused += tallyTotal(decoded.rejectedRows) + tallyTotal(decoded.rejectedValues);
      if (batch >= load.progress.batches) await storeBatch(load, decoded);
      batch += 1;
    }
  };
  for await (const chunk of readFileChunks(options.path)) {
    damage = chunk.damage;
    await take(decoder.push(chunk.bytes));
    const { rowCount, problem } = decoder.standing();
    options.onProgress?.({ readBytes: chunk.readBytes, totalBytes: p.sizeBytes, rows: rowCount });
    if (problem !== undefined) break;
  }
  await take(decoder.finish());
  const summary = decoder.summary();
  const cutOff = damage === undefined ? undefined : truncation(load, damage, summary.rowCount);
  await storeEnd(load, { rows: summary.rowCount, ...(cutOff === undefined ? {} : { deadLetter: cutOff }) });
  const { progress } = load;
  assert(
    summary.rowCount === progress.accepted + progress.duplicates + tallyTotal(progress.rejected),
    'every row is accepted, a duplicate or rejected',
  );
  const problem = summary.problem?.detail ?? (cutOff?.topic === 'dead_letters' ? cutOff.value.detail : undefined);
  return loadReport({ ...load, summary, refused: refused + (cutOff === undefined ? 0 : 1), problem });
}

async function storeBatch(load: Load, batch: DecodedBatch): Promise<void> {
  let { accepted, duplicates, late } = load.progress;
  const emit: Emit[] = [];
  await load.intakes.open(batch.samples.map((samples) => samples.unit));
  for (const samples of batch.samples) {
    const taken = load.intakes.take(samples);
    accepted += taken.accepted;
    duplicates += taken.duplicates;
    late += taken.late;
    for (const block of taken.blocks) emit.push({ topic: 'samples', key: block.unit, value: block });
  }
  for (const placed of batch.rejects) {
    const { reject, position, raw, unit } = placed;
    emit.push(deadLetter({ ...load, reject, position, raw, unit, receivedAtMs: load.options.nowMs }));
  }
  await store(load, emit, {
    ...load.progress,
    batches: load.progress.batches + 1,
    accepted: accepted + batch.emptyRows,
    duplicates: duplicates + batch.repeatedRows,
    late,
    rejected: addTallies(load.progress.rejected, batch.rejectedRows),
    rejectedValues: addTallies(load.progress.rejectedValues, batch.rejectedValues),
    deadLetters: load.progress.deadLetters + batch.rejects.length,
    units: [...new Set([...load.progress.units, ...batch.samples.map((samples) => samples.unit)])],
  });
}

// The last step: rows held back go on, and from now on the file is known.
async function storeEnd(load: Load, p: { rows: number; deadLetter?: Emit }): Promise<void> {
  await load.intakes.open(load.progress.units);
  const emit: Emit[] = load.intakes.flush().map((block) => ({ topic: 'samples', key: block.unit, value: block }));
  if (p.deadLetter !== undefined) emit.push(p.deadLetter);
  const deadLetters = load.progress.deadLetters + (p.deadLetter === undefined ? 0 : 1);
  await store(load, emit, { ...load.progress, isDone: true, rows: p.rows, deadLetters });
}

async function store(load: Load, emit: readonly Emit[], progress: LoadProgress): Promise<void> {
  const intakes = load.intakes.changes();
  await load.options.log.commit({
    group: INGEST_GROUP,
    emit,
    state: [
      ...intakes.map(({ key, value }) => ({ key, value })),
      { key: load.fileKey, value: progress as unknown as Json },
    ],
    expect: [
      ...intakes.map(({ key, version }) => ({ key, version })),
      { key: load.fileKey, version: load.fileVersion },
    ],
  });
  load.intakes.stored();
  load.fileVersion += 1;
  load.progress = progress;
}

function truncation(load: Load, damage: string, rowCount: number): Emit {
  const detail = `The gzip file breaks off (${damage}); the ${rowCount} rows before that were read. Fetch the file again and load it: rows that came through count as duplicates.`;
  return deadLetter({
    ...load,
    reject: { code: 'file_truncated', field: '', detail },
    position: rowCount,
    raw: '',
    unit: load.progress.units.length === 1 ? (load.progress.units[0] ?? null) : null,
    receivedAtMs: load.options.nowMs,
  });
}

async function selfDescribed(p: LoadOptions, file: string): Promise<SourceRule> {
  let head = new Uint8Array();
  for await (const { bytes } of readFileChunks(p.path)) {
    head = new Uint8Array([...head, ...bytes.subarray(0, HEAD_BYTES - head.length)]);
    if (head.length >= HEAD_BYTES) break;
  }
  const rule = sniffRule({ head, name: file, unit: p.unit });
  if (rule !== undefined) return rule;
  if (p.unit === undefined && sniffRule({ head, name: file, unit: '?' }) !== undefined) {
    throw new LoadError(
      'unit_missing',
      `${file} does not say which unit its readings are of; name the unit, or add a source rule with "unit" to the fleet file.`,
    );
  }
  const patterns = p.fleet.sources.map((source) => source.files).join(', ');
  throw new LoadError(
    'no_rule',
    `${file} fits none of the file patterns of the fleet file (${patterns === '' ? 'there are none' : patterns}) and does not describe itself; add a source rule to the fleet file that names its columns and units.`,
  );
}

function checkUnit(fleet: FleetFile, rule: SourceRule): void {
  const missing = unitsOfRule(rule).find((id) => !fleet.units.some((unit) => unit.id === id));
  if (missing === undefined) return;
  const ids = fleet.units
    .map((unit) => unit.id)
    .slice(0, 20)
    .join(', ');
  throw new LoadError(
    'unit_unknown',
    `"${missing}" is no unit of the fleet file; it has ${ids}. Correct the name, or add the unit.`,
  );
}

// With another rule the file says something else, so it is read again; rows that had been accepted count as duplicates.
function ruleFingerprint(rule: SourceRule): string {
  return createHash('sha256').update(JSON.stringify(rule)).digest('hex').slice(0, 16);
}
