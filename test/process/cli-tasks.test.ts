import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { EXAMPLE_FLEET } from '../../cli/example-fleet.ts';
import type { Finding } from '../../schemas/finding.ts';
import { openSqliteLog } from '../../storage/log/sqlite.ts';
import { chargeair, jsonLines, startChargeair, workFolder } from './cli-process.ts';

// Expected values are those of the finding below, which is written to the log as the analysis would.

const cwd = workFolder();
const SINCE_MS = Date.UTC(2026, 2, 1, 6);
const FINDING: Finding = {
  version: 1,
  id: 'truck-07-boost-1',
  unit: 'truck-07',
  kind: 'boost_shortfall',
  detector: 'cusum',
  sinceMs: SINCE_MS,
  atMs: SINCE_MS + 3_600_000,
  updatedAtMs: SINCE_MS + 3_600_000,
  state: 'open',
  severity: 'medium',
  subject: 'boost',
  evidence: {
    observed: 120,
    expected: 150,
    unit: 'kPa',
    points: 12,
    pattern: { boost: -5 },
    sentence: 'Boost is 30 kPa below what this load should give.',
  },
  causes: [{ cause: 'unknown', probability: 1 }],
  causeGroups: [],
  separatingChecks: [],
  troubleCodes: [],
};

beforeAll(async () => {
  writeFileSync(join(cwd, 'fleet.yaml'), EXAMPLE_FLEET);
  const log = openSqliteLog({ path: join(cwd, '.chargeair', 'log.sqlite') });
  const later: Finding = { ...FINDING, updatedAtMs: FINDING.updatedAtMs + 1000, severity: 'high' };
  const emit = [FINDING, later].map((value) => ({ topic: 'findings', key: value.unit, value }) as const);
  await log.commit({ group: 'analysis', emit, state: [] });
  await log.close();
  const server = startChargeair({ args: ['serve', '--port', '0'], cwd });
  await server.shows(/new tasks/);
  server.process.kill('SIGTERM');
  await server.ended;
});

const run = (...args: string[]) => chargeair({ args, cwd });

describe('findings', () => {
  test('only the newest version of a finding is listed, with times in ISO 8601', async () => {
    const { code, stdout } = await run('findings');
    expect(code).toBe(0);
    expect(jsonLines(stdout)).toEqual([
      expect.objectContaining({
        unit: 'truck-07',
        kind: 'boost_shortfall',
        since: '2026-03-01T06:00:00.000Z',
        at: '2026-03-01T07:00:00.000Z',
        severity: 'high',
        causes: [{ cause: 'unknown', probability: 1 }],
        id: FINDING.id,
        state: 'open',
      }),
    ]);
  });

  test('they can be chosen by unit and by state, and shown as a table', async () => {
    expect((await run('findings', '--unit', 'ferry-port-main')).stdout).toBe('');
    expect((await run('findings', '--state', 'cleared')).stdout).toBe('');
    const { stdout } = await run('findings', '--table');
    expect(stdout.split('\n')[0]).toMatch(/^unit +finding +severity/);
    expect(stdout).toContain('boost shortfall');
  });
});

describe('tasks', () => {
  test('a task is listed, taken once, closed with what was found, and then settled', async () => {
    const [task] = jsonLines((await run('tasks')).stdout);
    expect(task).toMatchObject({ unit: 'truck-07', state: 'open', severity: 'high' });
    const id = String(task?.['id']);

    const taken = await run('tasks', 'take', id, '--who', 'first fitter', '--json');
    expect(jsonLines(taken.stdout)).toMatchObject([{ id, state: 'taken', takenBy: 'first fitter' }]);
    const second = await run('tasks', 'take', id, '--who', 'second fitter');
    expect(second.code).toBe(1);
    expect(second.stderr).toContain('first fitter');

    const wrong = await run('tasks', 'close', id, '--who', 'first fitter', '--found', 'gremlins');
    expect({ code: wrong.code, stdout: wrong.stdout }).toEqual({ code: 1, stdout: '' });
    const closed = await run(
      'tasks',
      'close',
      id,
      '--who',
      'first fitter',
      '--found',
      'none_found',
      '--work',
      'nothing_done',
      '--note',
      'Hoses and clamps sound.',
      '--json',
    );
    expect(jsonLines(closed.stdout)).toMatchObject([
      { id, state: 'closed', verdict: { found: 'none_found', note: 'Hoses and clamps sound.' } },
    ]);
    expect(jsonLines((await run('tasks', '--state', 'open')).stdout)).toEqual([]);

    const shown = JSON.parse((await run('tasks', 'show', id)).stdout) as { cautions: string[]; history: unknown[] };
    expect(shown.cautions.length).toBeGreaterThan(0);
    expect(shown.history.length).toBeGreaterThanOrEqual(3);
  });

  test('a task that is not there is refused by its name', async () => {
    const { code, stderr } = await run('tasks', 'show', 'nobody-knows');
    expect(code).toBe(1);
    expect(stderr).toContain('nobody-knows');
  });
});
