import type { DeadLetter } from '../../schemas/dead-letter.ts';
import type { Finding } from '../../schemas/finding.ts';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import type { Verdict } from '../../schemas/verdict.ts';
import type { Emit } from '../../storage/log/port.ts';

/** A block of `length` samples, one a second, whose numbers tell it from others with another `mark`. */
function someBlock(p: { unit: string; mark: number; length?: number }): SampleBlock {
  const t = Array.from({ length: p.length ?? 3 }, (_, i) => 1_700_000_000_000 + (p.mark * 10_000 + i) * 1000);
  return {
    version: 1,
    unit: p.unit,
    source: 'deck log',
    t,
    signals: {
      engineSpeed: t.map((_, i) => 1200 + i + p.mark / 8),
      boostPressure: t.map((_, i) => (i % 2 === 0 ? null : 101.25 + p.mark)),
    },
  };
}

/** Such a block as a record to be written. */
export function samples(p: { unit: string; mark: number; length?: number }): Emit {
  return { topic: 'samples', key: p.unit, value: someBlock(p) };
}

/** A finding that differs from others by its id. */
export function finding(p: { unit: string; id: string }): Emit {
  const value: Finding = {
    version: 1,
    id: p.id,
    unit: p.unit,
    kind: 'boost_shortfall',
    detector: 'cusum',
    sinceMs: 1_700_000_000_000,
    atMs: 1_700_000_100_000,
    updatedAtMs: 1_700_000_100_000,
    state: 'open',
    severity: 'medium',
    subject: 'boost',
    evidence: {
      observed: 140.5,
      expected: 155,
      unit: 'kPa',
      points: 12,
      pattern: { boost: -3.2 },
      sentence: 'Boost sags.',
    },
    causes: [{ cause: 'unknown', probability: 1 }],
    causeGroups: [],
    separatingChecks: [],
    troubleCodes: [],
  };
  return { topic: 'findings', key: p.unit, value };
}

/** A verdict with a note in several scripts. */
export function verdict(unit: string): Emit {
  const value: Verdict = {
    version: 1,
    task: 'task-1',
    unit,
    atMs: 1_700_000_200_000,
    who: 'Ωmega Łukasz 船員 🔧',
    found: 'none_found',
    work: ['nothing_done'],
    measurements: [],
    note: 'Schlauch geprüft, "dicht"\n\u0000\ufeff',
  };
  return { topic: 'verdicts', key: unit, value };
}

/** A refused row. */
export function deadLetter(unit: string): Emit {
  const value: DeadLetter = {
    version: 1,
    id: 'row-1',
    unit: null,
    source: 'deck.csv',
    format: 'csv_wide',
    position: 7,
    code: 'number_unreadable',
    field: 'boost',
    detail: 'Write a number.',
    raw: 'a;b\\x00',
    receivedAtMs: 1_700_000_000_000,
  };
  return { topic: 'dead_letters', key: unit, value };
}
