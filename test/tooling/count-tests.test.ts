import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

const script = fileURLToPath(new URL('./count-tests.mjs', import.meta.url));

function count(p: { report?: unknown; exitCode: number }): string {
  const folder = mkdtempSync(join(tmpdir(), 'chargeair-count-'));
  try {
    const path = join(folder, 'report.json');
    if (p.report !== undefined) writeFileSync(path, JSON.stringify(p.report));
    return execFileSync(process.execPath, [script, path, String(p.exitCode)], {
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'ignore'],
    }).trim();
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const loaded = { status: 'passed', assertionResults: [{}] };

test('a run in which everything passed has no failure', () => {
  expect(count({ report: { numPassedTests: 7, numFailedTests: 0, testResults: [loaded] }, exitCode: 0 })).toBe('7 0');
});

test('failing tests are counted', () => {
  expect(count({ report: { numPassedTests: 7, numFailedTests: 2, testResults: [loaded] }, exitCode: 1 })).toBe('7 2');
});

test('a file that could not be loaded is a failure', () => {
  expect(
    count({
      report: {
        numPassedTests: 7,
        numFailedTests: 0,
        testResults: [loaded, { status: 'failed', assertionResults: [] }],
      },
      exitCode: 1,
    }),
  ).toBe('7 1');
});

test('an error outside every test is a failure', () => {
  expect(count({ report: { numPassedTests: 7, numFailedTests: 0, testResults: [loaded] }, exitCode: 1 })).toBe('7 1');
});

test('a run without tests is a failure', () => {
  expect(count({ report: { numPassedTests: 0, numFailedTests: 0, testResults: [] }, exitCode: 0 })).toBe('0 1');
});

test('a run without a report is a failure', () => {
  expect(count({ exitCode: 0 })).toBe('0 1');
});
