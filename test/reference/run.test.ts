import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { worstDeviation } from './compare.ts';
import { readReferenceFile } from './read-file.ts';
import { main, reportLines, runReferenceFiles } from './run.ts';

// The runner's own rules, so there is no outside source but the one named: psi by NIST SP 811 (2008), appendix B.8.
const TRUE_CASE = {
  id: 'psi',
  quantity: 'unit conversion: pressure',
  inputs: { value_psi: 1 },
  expected: { pressure_Pa: 6894.757 },
  tolerance: { rel: 3e-7, reason: 'printed to seven digits' },
  source: 'NIST SP 811',
};

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'reference-'));
});
afterEach(() => {
  vi.restoreAllMocks();
  rmSync(folder, { recursive: true });
});

function written(content: unknown): string {
  const path = join(folder, 'cases.json');
  writeFileSync(path, typeof content === 'string' ? content : JSON.stringify(content));
  return path;
}

function run(...cases: unknown[]) {
  return runReferenceFiles([written({ cases })]);
}

describe('runReferenceFiles', () => {
  test('reads groups and a flat list of cases alike', () => {
    const grouped = runReferenceFiles([written({ title: 't', about: {}, groups: { g: { cases: [TRUE_CASE] } } })]);
    expect(grouped).toMatchObject({ passed: 1, missed: 0, notCovered: 0 });
    expect(grouped.rows[0]?.case.group).toBe('g');
    expect(run(TRUE_CASE)).toMatchObject({ passed: 1, missed: 0, notCovered: 0 });
  });

  test('misses a wrong expected value and says how far it is off', () => {
    const report = run({ ...TRUE_CASE, expected: { pressure_Pa: 6895 } });
    expect(report).toMatchObject({ passed: 0, missed: 1 });
    expect(report.rows[0]?.worst?.fraction).toBeGreaterThan(100);
    expect(reportLines(report).join('\n')).toContain('pressure_Pa is 6894.75');
  });

  test('covers no case of an unknown quantity, with a missing input, or with an expected key that nothing gives', () => {
    const report = run(
      { ...TRUE_CASE, quantity: 'colour of smoke' },
      { ...TRUE_CASE, quantity: 'dew point', inputs: { temperature_K: 300 }, expected: { dewPoint_K: 280 } },
      { ...TRUE_CASE, expected: { pressure_Pa: 6894.757, mood: 1 } },
    );
    expect(report).toMatchObject({ passed: 0, missed: 0, notCovered: 3 });
    expect(report.rows.map((row) => row.note)).toEqual([
      'no function of ours gives "colour of smoke"',
      'the case lacks the number relativeHumidity',
      'nothing of ours gives mood',
    ]);
  });

  test('reads the quantity without regard to case and spacing, and inputs in other units of the dimension', () => {
    const report = run({
      ...TRUE_CASE,
      quantity: ' Pressure  Altitude (geopotential)',
      inputs: { pressure_kPa: 101.325 },
      expected: { geopotentialAltitude_ft: 0 },
      tolerance: { abs: 1e-6 },
    });
    expect(report.passed).toBe(1);
  });
});

describe('worstDeviation', () => {
  const fraction = (expected: unknown, got: unknown, tolerance = {}) =>
    worstDeviation({ expected, got, tolerance }).fraction;

  test('allows the larger of abs and rel times the expected value, and no more', () => {
    expect(fraction(100, 101, { abs: 0.1, rel: 0.01 })).toBe(1);
    expect(fraction(100, 101.01, { abs: 0.1, rel: 0.01 })).toBeGreaterThan(1);
    expect(fraction(0, 1e-12, { rel: 0.01 })).toBe(Number.POSITIVE_INFINITY);
  });

  test('null passes for undefined and null alone; no number stands for it, and it for no number', () => {
    expect(fraction(null, undefined)).toBe(0);
    expect(fraction(null, null)).toBe(0);
    expect(fraction(null, 0, { abs: 1 })).toBe(Number.POSITIVE_INFINITY);
    expect(fraction(null, Number.NaN)).toBe(Number.POSITIVE_INFINITY);
    expect(fraction(1, undefined, { abs: 9 })).toBe(Number.POSITIVE_INFINITY);
    expect(fraction(1, Number.NaN, { abs: 9 })).toBe(Number.POSITIVE_INFINITY);
  });

  test('texts and flags must be equal', () => {
    expect(fraction('rising', 'rising')).toBe(0);
    expect(fraction('rising', 'falling', { abs: 1 })).toBe(Number.POSITIVE_INFINITY);
    expect(fraction(true, 1, { abs: 1 })).toBe(Number.POSITIVE_INFINITY);
  });

  test('lists compare place by place and by length; sample numbers must be equal whatever the tolerance', () => {
    expect(fraction([1.5, 2], [1.5, 2.1], { abs: 0.2 })).toBeCloseTo(0.5, 10);
    expect(fraction([1.5, 2], [1.5], { abs: 9 })).toBe(Number.POSITIVE_INFINITY);
    expect(fraction([10, 20], [10, 21], { abs: 5 })).toBe(Number.POSITIVE_INFINITY);
    expect(fraction([], [])).toBe(0);
    expect(fraction([], [1])).toBe(Number.POSITIVE_INFINITY);
  });

  test('objects compare by the expected keys and name the place of the worst value', () => {
    const worst = worstDeviation({
      expected: { a: { b: [1.5, 9.5] } },
      got: { a: { b: [1.5, 9.6], c: 1 } },
      tolerance: { abs: 1 },
    });
    expect(worst.path).toBe('a.b[1]');
    expect(fraction({ a: { b: 1 } }, { a: {} }, { abs: 9 })).toBe(Number.POSITIVE_INFINITY);
  });
});

describe('main', () => {
  test.each([
    ['no JSON', '{ "cases": [', 'is not JSON'],
    ['neither groups nor cases', '{}', 'at cases'],
    ['no case at all', '{ "groups": {} }', 'holds no case'],
    ['an empty list of cases', '{ "cases": [] }', 'at cases'],
    ['a case without a source', JSON.stringify({ cases: [{ ...TRUE_CASE, source: undefined }] }), 'at cases.0.source'],
    ['a case that expects nothing', JSON.stringify({ cases: [{ ...TRUE_CASE, expected: {} }] }), 'could not fail'],
    ['a list at the top', '[]', 'at the top'],
  ])('exits with 2 and a sentence on a file with %s', (_, content, sentence) => {
    const stderr = vi.spyOn(process.stderr, 'write').mockReturnValue(true);
    expect(main([written(content)])).toBe(2);
    expect(String(stderr.mock.calls[0]?.[0])).toContain(sentence);
    expect(String(stderr.mock.calls[0]?.[0])).toContain('cases.json');
  });

  test('exits with 2 on a file that is not there, and when no file is named', () => {
    const stderr = vi.spyOn(process.stderr, 'write').mockReturnValue(true);
    expect(main([join(folder, 'absent.json')])).toBe(2);
    expect(main([])).toBe(2);
    expect(stderr).toHaveBeenCalledTimes(2);
    expect(() => readReferenceFile(folder)).toThrow('cannot be read');
  });

  test('exits with 1 on a miss and 0 otherwise, with the count in the last line', () => {
    const stdout = vi.spyOn(process.stdout, 'write').mockReturnValue(true);
    expect(main([written({ cases: [{ ...TRUE_CASE, expected: { pressure_Pa: 1 } }] })])).toBe(1);
    expect(main([written({ cases: [TRUE_CASE] })])).toBe(0);
    expect(String(stdout.mock.lastCall?.[0])).toMatch(/\n1 passed, 0 missed, 0 not covered\n$/);
  });
});
