// Counts what a vitest run came to, from its JSON report: prints "PASSED FAILED".
// usage: node test/tooling/count-tests.mjs REPORT.json EXIT_CODE
// A run that leaves no report, a file that could not be loaded, and a run that failed without a failing test (an error
// outside every test) each count as one failure: what cannot be counted has not passed.
import { readFileSync } from 'node:fs';

/**
 * @param {string} path - The report.
 * @param {number} exitCode - How the run ended.
 * @returns {{ passed: number, failed: number }}
 */
function countTests(path, exitCode) {
  let report;
  try {
    report = JSON.parse(readFileSync(path, 'utf8'));
  } catch (error) {
    process.stderr.write(`No report at ${path}: ${error.message}\n`);
    return { passed: 0, failed: 1 };
  }
  const unloaded = report.testResults.filter(
    (file) => file.status === 'failed' && file.assertionResults.length === 0,
  ).length;
  const { numPassedTests: passed, numFailedTests } = report;
  const failed = numFailedTests + unloaded;
  if (failed === 0 && (exitCode !== 0 || passed === 0)) return { passed, failed: 1 };
  return { passed, failed };
}

const [path = '', exitCode = '0'] = process.argv.slice(2);
const { passed, failed } = countTests(path, Number(exitCode));
process.stdout.write(`${passed} ${failed}\n`);
