import { readFile } from 'node:fs/promises';
import fastify from 'fastify';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { EXAMPLE_FLEET } from '../../cli/example-fleet.ts';
import { JSON_SCHEMA_NAMES, type JsonSchemaName, jsonSchemaText } from '../../schemas/json-schemas.ts';

// The published schemas are judged by a validator that knows nothing of ours: the JSON Schema compiler inside the
// HTTP framework, told neither to convert nor to drop anything.
async function isValid(name: JsonSchemaName, record: unknown): Promise<boolean> {
  const { $schema: _, $id: __, ...schema } = JSON.parse(jsonSchemaText(name)) as Record<string, unknown>;
  const app = fastify({
    ajv: { customOptions: { coerceTypes: false, removeAdditional: false, useDefaults: false, strict: false } },
  });
  app.post('/', { schema: { body: schema } }, () => 'valid');
  const response = await app.inject({ method: 'POST', url: '/', payload: record as object });
  await app.close();
  expect([200, 400]).toContain(response.statusCode);
  return response.statusCode === 200;
}

const VALID: Record<Exclude<JsonSchemaName, 'task'>, Record<string, unknown>> = {
  'fleet-file': parse(EXAMPLE_FLEET) as Record<string, unknown>,
  unit: (parse(EXAMPLE_FLEET) as { units: Record<string, unknown>[] }).units[0] ?? {},
  'live-message': {
    version: 1,
    unit: 'truck-07',
    samples: { t: ['2026-03-01T06:00:00Z', 1], signals: { engineSpeed: [700, null] } },
  },
  'sample-block': { version: 1, unit: 'truck-07', source: 'logger', t: [1, 2], signals: { engineSpeed: [700, null] } },
  'operating-point': {
    version: 1,
    unit: 'truck-07',
    fromMs: 1,
    toMs: 2,
    signals: { engineSpeed: { mean: 1, sd: 0, count: 3 } },
  },
  'history-point': {
    point: { version: 1, unit: 'truck-07', fromMs: 1, toMs: 2, signals: {} },
    indicators: { coolerApproach: { value: 20, standardUncertainty: 1.4, from: ['intakeManifoldTemperature'] } },
    channels: { boost: { observed: 140, expected: 150, sd: 2, judgement: 'judged', cusum: -3 } },
  },
  indicator: { value: 1.5, standardUncertainty: 0.1, from: ['boostPressure'] },
  finding: {
    version: 1,
    id: 'f1',
    unit: 'truck-07',
    kind: 'boost_shortfall',
    detector: 'cusum',
    sinceMs: 1,
    atMs: 2,
    updatedAtMs: 2,
    state: 'open',
    severity: 'low',
    subject: 'boost',
    evidence: { observed: 1, unit: 'kPa', points: 3, pattern: { boost: -4 }, sentence: 'Boost is low.' },
    causes: [{ cause: 'unknown', probability: 1 }],
    causeGroups: [{ causes: ['unknown'], probability: 1 }],
    separatingChecks: [],
    troubleCodes: [],
  },
  verdict: {
    version: 1,
    task: 't1',
    unit: 'truck-07',
    atMs: 3,
    who: 'fitter',
    found: 'none_found',
    work: ['nothing_done'],
    measurements: [],
    note: '',
  },
  'dead-letter': {
    version: 1,
    id: 'd1',
    unit: null,
    source: 'a.csv',
    format: 'csv_wide',
    position: 3,
    code: 'number_unreadable',
    field: 'RPM',
    detail: 'is no number',
    raw: 'x',
    receivedAtMs: 1,
  },
};

describe('the published JSON Schemas', () => {
  test.each(JSON_SCHEMA_NAMES)('%s on disk is what the schema says today', async (name) => {
    const file = new URL(`../../schemas/json/${name}.schema.json`, import.meta.url);
    expect(await readFile(file, 'utf8')).toBe(jsonSchemaText(name));
  });

  test.each(Object.entries(VALID))(
    '%s accepts a sound record, refuses an unknown field and an empty record',
    async (name, record) => {
      expect(await isValid(name as JsonSchemaName, record)).toBe(true);
      expect(await isValid(name as JsonSchemaName, { ...record, surprise: 1 })).toBe(false);
      expect(await isValid(name as JsonSchemaName, {})).toBe(false);
    },
  );
});
