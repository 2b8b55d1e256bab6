// Damaged real lines against every decoder: no crash, no hang, every row accounted for. Not part of `npm test`:
// npx vitest run --project fuzz. FUZZ_SEED chooses another run, FUZZ_INPUTS more or fewer inputs a decoder.
import { describe, expect, test } from 'vitest';
import { clockLimits } from '../../ingest/checks.ts';
import {
  type DecodedBatch,
  type DecodeSummary,
  KEPT_REJECTS_MAX,
  type Samples,
  type Tally,
} from '../../ingest/formats/decoder.ts';
import { createDecoder } from '../../ingest/formats/formats.ts';
import { RAW_TEXT_MAX } from '../../ingest/formats/raw-text.ts';
import { takeIn } from '../../ingest/intake.ts';
import { type IntakeState, initialIntake } from '../../ingest/intake-state.ts';
import { SIGNALS } from '../../schemas/signals.ts';
import { below, createRandom, mutate, type Random } from './mutate.ts';
import { FUZZ_UNITS, fuzzSubjects, type Subject } from './subjects.ts';

const SEED = Number(process.env['FUZZ_SEED'] ?? 20_240_501);
const INPUTS = Number(process.env['FUZZ_INPUTS'] ?? 100_000);
/** Lines a decoder instance reads: few, so that one damaged line does not shield many others. */
const LINES = 64;
/** One line in so many stays whole, so that messages of several lines are also completed. */
const WHOLE_EVERY = 8;
/** A run in so many is read a second time, cut into other chunks. */
const CUT_EVERY = 16;

const clock = clockLimits(Date.UTC(2027, 0, 1));

type Run = { readonly batches: readonly DecodedBatch[]; readonly summary: DecodeSummary };

function makeInput(subject: Subject, random: Random): { bytes: Buffer; inputs: number } {
  const { lines, tokens } = subject;
  const pieces: Buffer[] = subject.head === '' ? [] : [Buffer.from(`${subject.head}\n`)];
  const from = below(random, Math.max(1, lines.length - LINES));
  let inputs = 0;
  for (const line of lines.slice(from, from + LINES)) {
    const isWhole = below(random, WHOLE_EVERY) === 0;
    if (!isWhole) inputs += 1;
    pieces.push(isWhole ? line : mutate({ line, random, lines, tokens }));
    pieces.push(Buffer.from(below(random, 20) === 0 ? '\r\n' : '\n'));
  }
  return { bytes: Buffer.concat(pieces), inputs };
}

function run(subject: Subject, bytes: Buffer, cuts: readonly number[]): Run {
  const decoder = createDecoder({ rule: subject.rule, unitIds: FUZZ_UNITS, clock });
  const batches: DecodedBatch[] = [];
  let from = 0;
  for (const to of [...cuts, bytes.length]) {
    batches.push(...decoder.push(bytes.subarray(from, to)));
    from = to;
  }
  batches.push(...decoder.finish());
  return { batches, summary: decoder.summary() };
}

const total = (tally: Tally) => Object.values(tally).reduce((sum, count) => sum + count, 0);

function samplesAreSound(samples: Samples): boolean {
  for (const timeMs of samples.timesMs)
    if (!Number.isInteger(timeMs) || timeMs < clock.earliestMs - 1000 || timeMs > clock.latestMs) return false;
  for (const [key, values] of samples.columns) {
    const { min, max } = SIGNALS[key];
    if (values.length !== samples.timesMs.length) return false;
    for (const value of values) if (value < min - 1e-9 || value > max + 1e-9) return false;
  }
  return samples.rowCounts === undefined || samples.rowCounts.length === samples.timesMs.length;
}

// Through the intake as well, so that the sum holds from the file's rows to what the log gets.
function accountFor({ batches }: Run): number {
  const states = new Map<string, IntakeState>();
  let rows = 0;
  for (const batch of batches) {
    rows += batch.emptyRows + batch.repeatedRows + total(batch.rejectedRows);
    for (const samples of batch.samples) {
      const state = states.get(samples.unit) ?? initialIntake({ unit: samples.unit, source: 'fuzz' });
      const taken = takeIn(state, samples, { clock, isLast: false });
      states.set(samples.unit, taken.state);
      rows += taken.accepted + taken.duplicates + total(taken.rejectedRows);
      if (taken.rejects.length > 0) return Number.NaN;
    }
  }
  return rows;
}

function check(subject: Subject, found: Run, place: string): void {
  const rejects = found.batches.flatMap((batch) => batch.rejects);
  const refusals = found.batches.reduce(
    (sum, batch) => sum + total(batch.rejectedRows) + total(batch.rejectedValues),
    0,
  );
  const isSound = found.batches.every((batch) => batch.samples.every((item) => samplesAreSound(item)));
  const longest = rejects.reduce((most, reject) => Math.max(most, reject.raw.length), 0);
  if (!isSound || longest > RAW_TEXT_MAX || rejects.length !== Math.min(refusals, KEPT_REJECTS_MAX))
    expect.fail(`${subject.name}: samples or refusals are not sound, ${place}`);
  const rows = accountFor(found);
  if (rows !== found.summary.rowCount)
    expect.fail(`${subject.name}: ${rows} of ${found.summary.rowCount} rows, ${place}`);
}

describe.each(fuzzSubjects().map((subject) => [subject.name, subject] as const))('%s', (name, subject) => {
  test(`${INPUTS} damaged lines crash nothing, and every row is accounted for`, () => {
    const started = performance.now();
    let inputs = 0;
    let rows = 0;
    let slowestMs = 0;
    const outcomes = { accepted: 0, refused: 0 };
    for (let instance = 0; inputs < INPUTS; instance += 1) {
      const place = `FUZZ_SEED=${SEED}, instance ${instance}`;
      const random = createRandom(SEED + instance * 7919);
      const input = makeInput(subject, random);
      const before = performance.now();
      const found = run(subject, input.bytes, []);
      slowestMs = Math.max(slowestMs, performance.now() - before);
      check(subject, found, place);
      if (instance % CUT_EVERY === 0) {
        const cuts = Array.from({ length: 1 + below(random, 8) }, () => below(random, input.bytes.length + 1)).sort(
          (a, b) => a - b,
        );
        expect(run(subject, input.bytes, cuts).batches, place).toEqual(found.batches);
      }
      inputs += input.inputs;
      rows += found.summary.rowCount;
      for (const batch of found.batches) outcomes.refused += total(batch.rejectedRows);
    }
    outcomes.accepted = rows - outcomes.refused;
    console.log(
      `${name}: ${inputs} damaged lines, seed ${SEED}, ${((performance.now() - started) / 1000).toFixed(1)} s; ${rows} rows, ${outcomes.refused} refused; slowest run of ${LINES} lines ${slowestMs.toFixed(0)} ms`,
    );
    // Damage that refuses everything, or nothing, would test nothing.
    expect(outcomes.accepted).toBeGreaterThan(inputs / 50);
    expect(outcomes.refused).toBeGreaterThan(inputs / 50);
  });
});
