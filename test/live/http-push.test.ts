import { writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { REQUESTS_MAX, startHttpPush } from '../../ingest/live/http-push.ts';
import { BODY_BYTES_MAX } from '../../ingest/live/push-body.ts';
import { makeToken } from '../../ingest/live/push-tokens.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import { blocksIn, FLEET_YAML, lettersIn, liveFolder, liveSetting, testFleet } from './live-fleet.ts';

// Status codes and problem details: RFC 9110 (401, 413, 415, 422), RFC 6585 (429), RFC 9457. Units by definition:
// 1 bar = 100 kPa (BIPM, SI brochure, table 8). Readings are invented.

const folder = liveFolder();
const gate = makeToken('gate');
const narrow = makeToken('narrow');
writeFileSync(join(folder, 'tokens.txt'), `# senders\n${gate.line}\n${narrow.line}\n`);
const settings = {
  host: '127.0.0.1',
  port: 0,
  tokensFile: 'tokens.txt',
  sources: [{ id: 'gate' }, { id: 'narrow', units: ['digger-2'] }],
};
const fleet = testFleet(parse(FLEET_YAML));
const setting = liveSetting({ fleet, folder });
let server: Awaited<ReturnType<typeof startHttpPush>>;

beforeAll(async () => {
  server = await startHttpPush({ ...setting, settings, bodyTimeoutMs: 1500 });
});
afterAll(async () => {
  await server.stop();
  await setting.log.close();
});

let hour = 0;
/** A message of its own time, so that tests do not meet. */
function someMessage(p: { unit?: string; rows?: number } = {}) {
  hour += 1;
  const start = Date.UTC(2026, 2, 1, hour);
  const t = Array.from({ length: p.rows ?? 3 }, (_, i) => new Date(start + i * 1000).toISOString());
  return { version: 1, unit: p.unit ?? 'digger-1', samples: { t, signals: { engineSpeed: t.map((_, i) => 800 + i) } } };
}

async function push(p: {
  body: string | Uint8Array;
  token?: string;
  headers?: Record<string, string>;
  query?: string;
}) {
  const response = await fetch(`${server.url}${p.query ?? ''}`, {
    method: 'POST',
    headers: { authorization: `Bearer ${p.token ?? gate.token}`, 'content-type': 'application/json', ...p.headers },
    body: p.body,
  });
  const type = response.headers.get('content-type') ?? '';
  const answer = (await response.json()) as Record<string, unknown>;
  if (response.status !== 200) {
    expect(type).toContain('application/problem+json');
    expect(answer).toMatchObject({ status: response.status, title: expect.any(String), detail: expect.any(String) });
  }
  return { status: response.status, answer, headers: response.headers };
}

describe('pushing samples over HTTP', () => {
  test('a message is in when the answer comes, and again changes nothing', async () => {
    const body = JSON.stringify(someMessage());
    expect(await push({ body })).toMatchObject({ status: 200, answer: { accepted: 3, duplicates: 0, rejected: 0 } });
    expect(await push({ body })).toMatchObject({ status: 200, answer: { accepted: 0, duplicates: 3, rejected: 0 } });
  });

  test('arrays, lines, one reading, and gzip all come through', async () => {
    const array = JSON.stringify([someMessage(), someMessage({ unit: 'digger-2' })]);
    expect((await push({ body: array })).answer).toMatchObject({ accepted: 6 });
    const lines = `${JSON.stringify(someMessage())}\n\n${JSON.stringify(someMessage())}\n`;
    const ndjson = { 'content-type': 'application/x-ndjson' };
    expect((await push({ body: lines, headers: ndjson })).answer).toMatchObject({ accepted: 6 });
    const reading = {
      version: 1,
      unit: 'digger-1',
      reading: { t: '2026-02-01T06:00:00Z', signals: { oilPressure: 300 } },
    };
    expect((await push({ body: JSON.stringify(reading) })).answer).toMatchObject({ accepted: 1 });
    const packed = gzipSync(JSON.stringify(someMessage({ rows: 500 })));
    expect((await push({ body: packed, headers: { 'content-encoding': 'gzip' } })).answer).toMatchObject({
      accepted: 500,
    });
  });

  test('a table is read by the rule that is named, line by line', async () => {
    const body =
      'time,unit,rpm,boost\n2026-02-02T06:00:00Z,digger-1,900,0.5\n2026-02-02T06:00:01Z,digger-9,900,0.5\n2026-02-02T06:00:02Z,digger-1,fast,0.6\n';
    const csv = { 'content-type': 'text/csv; charset=utf-8' };
    const { status, answer } = await push({ body, headers: csv, query: '?rule=table' });
    expect(status).toBe(200);
    expect(answer).toMatchObject({ accepted: 2, rejected: 1, rejectedValues: 1 });
    expect(await push({ body, headers: csv, query: '?rule=nothing' })).toMatchObject({ status: 422 });
    expect(await push({ body, headers: csv })).toMatchObject({ status: 422 });
  });

  test('units of the message are converted, and absolute boost is kept as what it is', async () => {
    const message = {
      version: 1,
      unit: 'digger-2',
      units: { boostPressure: 'bar', oilTemperature: 'degF' },
      references: { boostPressure: 'absolute' },
      samples: {
        t: ['2026-02-03T06:00:00Z'],
        signals: { boostPressure: [2.5], oilTemperature: [212], barometricPressure: [100] },
      },
    };
    expect((await push({ body: JSON.stringify(message) })).answer).toMatchObject({ accepted: 1, rejectedValues: 0 });
    await push({ body: JSON.stringify(someMessage({ unit: 'digger-2', rows: 100 })) });
    const timeMs = Date.UTC(2026, 1, 3, 6);
    const block = (await blocksIn(setting.log)).find(({ t }) => t.includes(timeMs));
    const valueAt = (key: SignalKey) => block?.signals[key]?.[block.t.indexOf(timeMs)];
    // 212 °F is the boiling point of water, 100 °C; 2.5 bar absolute over 100 kPa is 150 kPa gauge.
    expect(valueAt('intakeManifoldPressureAbsolute')).toBeCloseTo(250, 9);
    expect(valueAt('boostPressure')).toBeCloseTo(150, 9);
    expect(valueAt('oilTemperature')).toBeCloseTo(100, 9);
  });

  test('single values that are wrong are refused and kept as dead letters; the others stand', async () => {
    const t = ['2026-02-04T06:00:00Z', '2026-02-04T06:00:01Z', '2026-02-04T06:00:02Z'];
    const signals = { engineSpeed: [800, 'NaN', 99_000], boosst: [1, 2, 3], oilPressure: [300, 310, 320] };
    const message = { version: 1, unit: 'digger-1', samples: { t, signals } };
    const { status, answer } = await push({ body: JSON.stringify(message) });
    expect(status).toBe(200);
    expect(answer).toMatchObject({ accepted: 3, rejected: 0, rejectedValues: 3 });
    const codes = (answer['refusals'] as { code: string }[]).map(({ code }) => code).sort();
    expect(codes).toEqual(['number_unreadable', 'signal_unknown', 'value_out_of_range']);
    const kept = (await lettersIn(setting.log)).filter(({ raw }) => raw.includes('boosst')).map(({ code }) => code);
    expect(kept.sort()).toEqual(codes);
  });

  test.each([
    ['not JSON', '{"version": 1, "unit": "digger-1", NaN', 'record_unreadable'],
    [
      'NaN in place of a number',
      '{"version":1,"unit":"digger-1","reading":{"t":1,"signals":{"oilPressure":NaN}}}',
      'record_unreadable',
    ],
    ['a newer version', '{"version":2,"unit":"digger-1"}', 'version_unknown'],
    ['a unit that is not there', JSON.stringify({ ...someMessage(), unit: 'digger-9' }), 'unit_not_in_fleet'],
    [
      'an unknown measuring unit',
      JSON.stringify({ ...someMessage(), units: { engineSpeed: 'furlong' } }),
      'unit_unknown',
    ],
    [
      'a clock far ahead',
      '{"version":1,"unit":"digger-1","reading":{"t":"2099-01-01T00:00:00Z","signals":{"oilPressure":1}}}',
      'clock_ahead',
    ],
    [
      'columns of unequal length',
      '{"version":1,"unit":"digger-1","samples":{"t":[1,2],"signals":{"oilPressure":[1]}}}',
      'record_unreadable',
    ],
    [
      'values nested without end',
      `{"version":1,"unit":"digger-1","samples":{"t":[1],"signals":{"oilPressure":[${'['.repeat(50_000)}${']'.repeat(50_000)}]}}}`,
      'number_unreadable',
    ],
    ['a number that is an array', '[[1,2],3]', 'record_unreadable'],
  ])('%s is refused with a code and kept as a dead letter', async (_name, body, code) => {
    const before = (await lettersIn(setting.log)).length;
    const { answer } = await push({ body });
    expect((answer['refusals'] as { code: string }[])[0]?.code).toBe(code);
    expect((await lettersIn(setting.log)).slice(before)[0]).toMatchObject({ code, source: 'http:gate' });
  });

  test('who has no token, a wrong one, or one that is nearly right is not known', async () => {
    const body = JSON.stringify(someMessage());
    const nearly = `${gate.token.slice(0, -1)}${gate.token.endsWith('A') ? 'B' : 'A'}`;
    for (const token of ['', 'x', nearly, gate.line.split(' ')[1] ?? '']) {
      const { status, headers } = await push({ body, token });
      expect([status, headers.get('www-authenticate')]).toEqual([401, 'Bearer']);
    }
  });

  test('a source may only send readings of its own units', async () => {
    expect(await push({ body: JSON.stringify(someMessage()), token: narrow.token })).toMatchObject({ status: 422 });
    const own = JSON.stringify(someMessage({ unit: 'digger-2' }));
    expect(await push({ body: own, token: narrow.token })).toMatchObject({ status: 200 });
  });

  test('one key gives one answer, to the same body and the same sender', async () => {
    const body = JSON.stringify(someMessage());
    const headers = { 'idempotency-key': 'a-key' };
    const first = await push({ body, headers });
    expect(first.answer).toMatchObject({ accepted: 3 });
    expect((await push({ body, headers })).answer).toEqual(first.answer);
    expect(await push({ body: JSON.stringify(someMessage()), headers })).toMatchObject({ status: 422 });
    const other = JSON.stringify(someMessage({ unit: 'digger-2' }));
    expect(await push({ body: other, headers, token: narrow.token })).toMatchObject({ status: 200 });
    expect(await push({ body, headers: { 'idempotency-key': 'x'.repeat(300) } })).toMatchObject({ status: 400 });
  });

  test('a body that is too large is refused, as sent and unpacked', async () => {
    expect(await push({ body: new Uint8Array(BODY_BYTES_MAX + 1) }).catch(() => ({ status: 413 }))).toMatchObject({
      status: 413,
    });
    const bomb = gzipSync(Buffer.alloc(200 * 2 ** 20, 0x20), { level: 9 });
    expect(bomb.length).toBeLessThan(BODY_BYTES_MAX);
    expect(await push({ body: bomb, headers: { 'content-encoding': 'gzip' } })).toMatchObject({ status: 413 });
    expect(await push({ body: 'no gzip', headers: { 'content-encoding': 'gzip' } })).toMatchObject({ status: 400 });
    expect(await push({ body: '{}', headers: { 'content-encoding': 'br' } })).toMatchObject({ status: 415 });
    expect(await push({ body: '{}', headers: { 'content-type': 'application/xml' } })).toMatchObject({ status: 415 });
  });

  test('slow senders are cut off, hold nobody up, and beyond so many at once are asked to wait', async () => {
    const slow = Array.from({ length: REQUESTS_MAX }, () => slowSender());
    await Promise.all(slow.map(({ begun }) => begun));
    const { status, headers } = await push({ body: JSON.stringify(someMessage()) });
    expect([status, headers.get('retry-after')]).toEqual([429, '2']);
    const other = JSON.stringify(someMessage({ unit: 'digger-2' }));
    expect(await push({ body: other, token: narrow.token })).toMatchObject({ status: 200 });
    for (const { answer } of slow) expect(await answer).toContain('HTTP/1.1 408');
    expect(await push({ body: JSON.stringify(someMessage()) })).toMatchObject({ status: 200 });
  });

  test('other paths answer with a problem too', async () => {
    const response = await fetch(server.url.replace('samples', 'other'));
    expect(response.status).toBe(404);
    expect(await response.json()).toMatchObject({ status: 404 });
  });

  test('what was accepted before a stop is in the log after it, and nothing went wrong', async () => {
    const own = liveSetting({ fleet, folder, name: 'stop' });
    const stopping = await startHttpPush({ ...own, settings });
    const sent = await Promise.all(
      Array.from({ length: 50 }, async (_, i) => {
        const t = Date.UTC(2026, 2, 2, 6, 0, i);
        const body = JSON.stringify({ version: 1, unit: 'digger-1', reading: { t, signals: { oilPressure: 300 } } });
        const headers = { authorization: `Bearer ${gate.token}`, 'content-type': 'application/json' };
        if (i === 25) void stopping.stop();
        const status = await fetch(stopping.url, { method: 'POST', headers, body }).then(
          (response) => response.status,
          () => 0,
        );
        return { t, status };
      }),
    );
    await stopping.stop();
    const times = new Set((await blocksIn(own.log)).flatMap(({ t }) => t));
    const accepted = sent.filter(({ status }) => status === 200);
    expect(accepted.every(({ t }) => times.has(t))).toBe(true);
    expect(sent.every(({ status }) => [0, 200, 503].includes(status))).toBe(true);
    expect(own.failures).toEqual([]);
    await own.log.close();
  });

  test('nothing failed on the way', () => {
    expect(setting.failures).toEqual([]);
  });
});

/** Sends the head of a request and then a byte now and then. */
function slowSender(): { readonly begun: Promise<void>; readonly answer: Promise<string> } {
  const { port, host, pathname } = new URL(server.url);
  const socket = connect(Number(port), '127.0.0.1');
  let text = '';
  const head = [
    `POST ${pathname} HTTP/1.1`,
    `Host: ${host}`,
    `Authorization: Bearer ${gate.token}`,
    'Content-Type: application/json',
    'Content-Length: 1000',
    '',
    '{',
  ];
  socket.on('error', () => {});
  const timer = setInterval(() => socket.write(' '), 200);
  socket.setEncoding('utf8').on('data', (part: string) => {
    text += part;
  });
  const begun = new Promise<void>((resolve) =>
    socket.on('connect', () => socket.write(head.join('\r\n'), () => setTimeout(resolve, 200))),
  );
  const answer = new Promise<string>((resolve) => socket.on('close', () => resolve(text)));
  void answer.then(() => clearInterval(timer));
  return { begun, answer };
}
