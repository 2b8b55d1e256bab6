import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { createProgram } from '../../cli/program.ts';
import { historyAccess, logAccess } from '../../cli/remote-stores.ts';
import { parseInfluxUrl } from '../../storage/history/influx-settings.ts';
import { parseKafkaUrl } from '../../storage/log/kafka/settings.ts';

// The file names commands, variables and addresses of the program; they must be the program's own.

type Service = {
  readonly image?: string;
  readonly command?: readonly string[];
  readonly ports?: readonly string[];
  readonly networks: readonly string[];
  readonly environment: Readonly<Record<string, string>>;
  readonly healthcheck?: object;
};
const text = readFileSync(new URL('../../docker-compose.fleet.yml', import.meta.url), 'utf8');
const compose = parse(text, { merge: true }) as {
  readonly services: Readonly<Record<string, Service>>;
  readonly networks: Readonly<Record<string, { readonly internal?: boolean } | null>>;
};
const services = Object.entries(compose.services);

describe('the containers of a fleet', () => {
  test('run commands that the program has', () => {
    const commands = createProgram().commands.map((command) => command.name());
    const named = services.flatMap(([, { command }]) => (command === undefined ? [] : [command[0]]));
    expect(named).toEqual(['serve', 'run']);
    expect(commands).toEqual(expect.arrayContaining(named));
  });

  test('find broker and database by names that are services, in ways that the program understands', () => {
    for (const name of ['pages', 'worker']) {
      const environment = compose.services[name]?.environment ?? {};
      const log = parseKafkaUrl(logAccess(environment)?.address ?? '');
      expect(log).toMatchObject({ brokers: ['kafka:9092'] });
      const history = parseInfluxUrl(historyAccess(environment)?.address ?? '');
      const database = compose.services['influxdb']?.environment ?? {};
      expect(history).toEqual({
        url: 'http://influxdb:8086',
        org: database['DOCKER_INFLUXDB_INIT_ORG'],
        bucket: database['DOCKER_INFLUXDB_INIT_BUCKET'],
      });
    }
  });

  test('have no password or token that somebody did not choose', () => {
    const secrets = services.flatMap(([, { environment }]) =>
      Object.entries(environment).filter(([name]) => /PASSWORD|TOKEN/.test(name)),
    );
    expect(secrets.length).toBeGreaterThan(3);
    for (const [, value] of secrets) expect(value).toMatch(/^\$\{\w+:\?[^}]+\}$/);
  });

  test('open one port, on this machine alone, and keep broker and database to themselves', () => {
    expect(services.flatMap(([, { ports }]) => ports ?? [])).toEqual(['127.0.0.1:8473:8473']);
    expect(compose.networks['stores']).toEqual({ internal: true });
    for (const name of ['kafka', 'influxdb']) expect(compose.services[name]?.networks).toEqual(['stores']);
  });

  test('are of named versions and are asked whether they are well', () => {
    for (const [, { image }] of services) if (image !== undefined) expect(image).toMatch(/:\d+\.\d+/);
    for (const name of ['kafka', 'influxdb']) expect(compose.services[name]?.healthcheck).toHaveProperty('test');
  });
});
