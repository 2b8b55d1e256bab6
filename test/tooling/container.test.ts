import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { DEFAULT_PORT } from '../../cli/options.ts';
import { createProgram } from '../../cli/program.ts';

// The container files name commands, ports and addresses of the program; they must be the program's own.

const read = (name: string) => readFileSync(new URL(`../../${name}`, import.meta.url), 'utf8');
const dockerfile = read('Dockerfile');
const compose = parse(read('docker-compose.yml')) as {
  services: Record<string, { command: string[]; ports: string[]; volumes: string[] }>;
};

describe('the container', () => {
  test('runs commands that the program has', () => {
    const commands = createProgram().commands.map((command) => command.name());
    const named = [...dockerfile.matchAll(/^CMD \["(\w+)"/gm)].map((match) => match[1]);
    expect([...named, ...Object.values(compose.services).map((service) => service.command[0])]).toEqual([
      'start',
      'start',
    ]);
    expect(commands).toContain('start');
    expect(commands).toContain('serve');
  });

  test('listens at the default port and opens it on this machine alone', () => {
    expect(dockerfile).toContain(`EXPOSE ${DEFAULT_PORT}`);
    expect(dockerfile).toContain(`CHARGEAIR_PORT=${DEFAULT_PORT}`);
    for (const service of Object.values(compose.services)) {
      expect(service.ports).toEqual([`127.0.0.1:${DEFAULT_PORT}:${DEFAULT_PORT}`]);
    }
  });

  test('does not run as root, keeps its data in a volume, and is asked whether it is well', () => {
    expect(dockerfile).toMatch(/^USER node$/m);
    expect(dockerfile).toMatch(/^VOLUME \/data$/m);
    expect(dockerfile).toMatch(/^HEALTHCHECK /m);
    expect(read('alerts/http/app.ts')).toContain("'/healthz'");
    for (const service of Object.values(compose.services)) expect(service.volumes).toContain('data:/data');
  });
});
