import type { FastifyInstance } from 'fastify';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { HistoryPort } from '../../storage/history/port.ts';
import { openSqliteHistory } from '../../storage/history/sqlite.ts';
import type { LogPort } from '../../storage/log/port.ts';
import { openSqliteLog } from '../../storage/log/sqlite.ts';
import { EXAMPLE_FLEET, exampleFinding, HOUR_MS, START_MS } from '../example-for-tests.ts';
import { getTask, listTasks } from '../tasks.ts';
import { runAlertsOnce } from '../worker.ts';
import { createApp } from './app.ts';

let log: LogPort;
let history: HistoryPort;
let app: FastifyInstance;
let task: string;
let kicked: number;
const failures: Error[] = [];

beforeEach(async () => {
  log = openSqliteLog({ path: ':memory:' });
  history = openSqliteHistory({ path: ':memory:' });
  const value = exampleFinding();
  await log.commit({ group: 'analysis', emit: [{ topic: 'findings', key: value.unit, value }], state: [] });
  await runAlertsOnce({ log, fleet: EXAMPLE_FLEET, max: 10 });
  task = (await listTasks({ log }))[0]?.id ?? '';
  kicked = 0;
  failures.length = 0;
  app = createApp({
    log,
    history,
    fleet: EXAMPLE_FLEET,
    clock: () => START_MS + 24 * HOUR_MS,
    afterAction: async () => {
      kicked += 1;
    },
    onError: (error) => failures.push(error),
  });
});
afterEach(async () => {
  await app.close();
  await log.close();
  await history.close();
});

const post = (path: string, form: string, headers: Record<string, string> = {}) =>
  app.inject({
    method: 'POST',
    url: path,
    payload: form,
    headers: { 'content-type': 'application/x-www-form-urlencoded', accept: 'text/html', ...headers },
  });
const get = (url: string, headers: Record<string, string> = {}) => app.inject({ url, headers });

describe('headers', () => {
  // OWASP Secure Headers Project; no HSTS over plain HTTP (RFC 6797, section 7.2).
  test('forbid inline script, framing and guessing, and promise nothing about HTTPS', async () => {
    const { headers, statusCode } = await get('/');
    expect(statusCode).toBe(200);
    expect(headers['content-security-policy']).toContain("default-src 'none'");
    expect(headers['content-security-policy']).not.toMatch(/unsafe-inline|script-src|upgrade-insecure-requests/);
    expect(headers['x-content-type-options']).toBe('nosniff');
    expect(headers['strict-transport-security']).toBeUndefined();
  });
  test('the page needs no inline style or script', async () => {
    for (const url of ['/', `/tasks/${task}`])
      expect((await get(url)).body).not.toMatch(/<script|\sstyle=|\son[a-z]+=/);
  });
});

describe('requests from elsewhere', () => {
  // OWASP Cross-Site Request Forgery Prevention: Fetch Metadata, then Origin.
  test.each([
    ['another site', { 'sec-fetch-site': 'cross-site' }],
    ['a neighbour site', { 'sec-fetch-site': 'same-site' }],
    ['another origin', { origin: 'http://elsewhere.example' }],
    ['an opaque origin', { origin: 'null' }],
  ])('from %s change nothing', async (_from, headers) => {
    const reply = await post(`/tasks/${task}/take`, 'who=X&from=', headers);
    expect(reply.statusCode).toBe(403);
    expect(reply.headers['content-type']).toContain('application/problem+json');
    expect((await getTask({ log, id: task }))?.state).toBe('open');
    expect(kicked).toBe(0);
  });
  test.each([{ 'sec-fetch-site': 'same-origin' }, { origin: 'http://localhost:80', host: 'localhost:80' }, {}])(
    'from its own pages are taken: %j',
    async (headers) => {
      expect((await post(`/tasks/${task}/take`, 'who=X&from=', headers as Record<string, string>)).statusCode).toBe(
        303,
      );
      expect(kicked).toBe(1);
    },
  );
  test('under a foreign host name are refused, under addresses answered', async () => {
    expect((await get('/', { host: 'rebound.example' })).statusCode).toBe(421);
    expect((await get('/', { host: '192.0.2.7:8080' })).statusCode).toBe(200);
    expect((await get('/', { host: '[2001:db8::1]:8080' })).statusCode).toBe(200);
  });
});

describe('forms', () => {
  test('a wrong field comes back with the page, the reason and what was entered', async () => {
    const reply = await post(`/tasks/${task}/measure`, 'who=X&check=filter_drop&value=abc&state=idle');
    expect(reply.statusCode).toBe(422);
    expect(reply.body).toContain('Give the value as a number');
    expect(reply.body).toContain('value="abc"');
  });
  test('a task that moved on is answered with a conflict', async () => {
    await post(`/tasks/${task}/take`, 'who=A&from=');
    expect((await post(`/tasks/${task}/take`, 'who=B&from=')).statusCode).toBe(409);
  });
  test('what people enter cannot become markup', async () => {
    await post(`/tasks/${task}/take`, `from=&who=${encodeURIComponent('<img src=x onerror=alert(1)>')}`);
    const { body } = await get(`/tasks/${task}`);
    expect(body).toContain('&lt;img src=x');
    expect(body).not.toContain('<img');
  });
  test('a strange way back leads to the first page', async () => {
    for (const back of ['//elsewhere.example', 'http://elsewhere.example', '/\\elsewhere.example', '']) {
      expect((await post('/view', `theme=night&back=${encodeURIComponent(back)}`)).headers['location']).toBe('/');
    }
    expect((await post('/view', 'theme=night&back=%2F%3Fgroup%3Dplace')).headers['location']).toBe('/?group=place');
  });
});

describe('interface for programs', () => {
  test('lists tasks, one task, findings and units', async () => {
    expect((await get('/api/tasks?place=north-yard')).json().tasks).toHaveLength(1);
    expect((await get('/api/tasks?place=east-quay')).json().tasks).toHaveLength(0);
    expect((await get('/api/tasks?place=east-quay&unit=truck-07')).json().tasks).toHaveLength(0);
    expect((await get(`/api/tasks/${task}`)).json()).toMatchObject({ id: task, unit: 'truck-07' });
    expect((await get('/api/findings?state=open')).json().findings).toHaveLength(1);
    expect((await get('/api/units')).json().units).toMatchObject([
      { id: 'truck-07', condition: 'medium' },
      { condition: 'no_data' },
      {},
      {},
      {},
    ]);
  });
  test('findings show their newest version, as soon as it is in the log', async () => {
    await get('/api/findings');
    const value = exampleFinding({ state: 'cleared', updatedAtMs: START_MS + 30 * HOUR_MS });
    await log.commit({ group: 'analysis', emit: [{ topic: 'findings', key: value.unit, value }], state: [] });
    expect((await get('/api/findings')).json().findings).toMatchObject([{ state: 'cleared' }]);
    expect((await get('/api/units')).json().units[0]).toMatchObject({ condition: 'no_data' });
  });
  test('gives a series of a channel, thinned', async () => {
    const point = (hour: number) => ({
      point: {
        version: 1 as const,
        unit: 'truck-07',
        fromMs: START_MS + hour * HOUR_MS - 60_000,
        toMs: START_MS + hour * HOUR_MS,
        signals: {},
      },
      indicators: {},
      channels: { boost: { observed: 150 + hour, expected: 152, sd: 3, judgement: 'judged' as const } },
    });
    await history.write([point(1), point(2), point(3)]);
    const span = `from=2026-11-09T06:00:00Z&to=${START_MS + 4 * HOUR_MS}`;
    const { buckets } = (await get(`/api/series?unit=truck-07&channel=boost&${span}&buckets=1`)).json();
    expect(buckets).toMatchObject([{ count: 3, min: 151, max: 153, mean: 152, expected: 152 }]);
  });
  // RFC 9457: problem details.
  test.each([
    ['/api/tasks/none', 404],
    ['/api/tasks?state=lost', 400],
    ['/api/tasks?stat=open', 400],
    ['/api/series?unit=truck-07&channel=boost', 400],
    ['/api/series?unit=truck-07&channel=boost&from=2026-02-30T00:00:00Z&to=1', 400],
    ['/api/series?unit=truck-07&channel=boost&from=2&to=1', 422],
    ['/api/series?unit=truck-07&channel=noise&from=1&to=2', 404],
    ['/nothing', 404],
  ])('%s answers %i with a problem', async (url, status) => {
    const reply = await get(url);
    expect(reply.statusCode).toBe(status);
    expect(reply.headers['content-type']).toContain('application/problem+json');
    expect(reply.json()).toMatchObject({ status, title: expect.any(String), detail: expect.any(String) });
  });
});

describe('health', () => {
  test('alive and ready, with the findings that wait', async () => {
    expect((await get('/healthz')).statusCode).toBe(200);
    expect((await get('/readyz')).json()).toEqual({ status: 'ready', findingsWaiting: 0 });
  });
  test('a store that is gone is told to the reader and to the log of the server', async () => {
    await log.close();
    expect((await get('/readyz')).statusCode).toBe(503);
    expect((await get('/api/tasks')).statusCode).toBe(503);
    expect(failures).toHaveLength(1);
    log = openSqliteLog({ path: ':memory:' });
  });
});
