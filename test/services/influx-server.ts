import { join } from 'node:path';
import { influxdProgram } from './influxd-build.ts';
import { freePorts, type ServerProcess, startServer } from './server-process.ts';

/** A running database that has been set up, and a way to stop and start it over the same data. */
export type InfluxServer = ServerProcess & {
  readonly url: string;
  readonly org: string;
  readonly token: string;
  start(): Promise<void>;
};

/** Starts a database with its data in `folder`. */
export async function startInflux(folder: string): Promise<InfluxServer> {
  const program = await influxdProgram();
  const [port = 0] = await freePorts(1);
  const url = `http://127.0.0.1:${port}`;
  const launch = () =>
    startServer({
      command: program,
      args: [
        `--bolt-path=${join(folder, 'influxd.bolt')}`,
        `--sqlite-path=${join(folder, 'influxd.sqlite')}`,
        `--engine-path=${join(folder, 'engine')}`,
        `--http-bind-address=127.0.0.1:${port}`,
        '--reporting-disabled',
        '--log-level=warn',
      ],
      logPath: join(folder, 'influxd.log'),
      isReady: async () => (await fetch(`${url}/health`)).ok,
    });
  let server = await launch();
  const access = { org: 'fleet', token: 'token-of-the-tests' };
  const body = { username: 'tests', password: 'password-of-the-tests', bucket: 'first', ...access };
  await send(`${url}/api/v2/setup`, { body });
  return {
    url,
    ...access,
    stop: () => server.stop(),
    kill: () => server.kill(),
    start: async () => {
      server = await launch();
    },
  };
}

/** Makes a bucket unless it is there. */
export async function makeBucket(p: { url: string; org: string; token: string; bucket: string }): Promise<void> {
  const headers = { authorization: `Token ${p.token}` };
  const found = await fetch(`${p.url}/api/v2/orgs?org=${p.org}`, { headers });
  const { orgs } = (await found.json()) as { orgs: { id: string }[] };
  await send(`${p.url}/api/v2/buckets`, { headers, body: { orgID: orgs[0]?.id, name: p.bucket }, allow: 422 });
}

async function send(
  url: string,
  p: { body: object; headers?: { readonly [name: string]: string }; allow?: number },
): Promise<void> {
  const answer = await fetch(url, {
    method: 'POST',
    headers: { 'content-type': 'application/json', ...p.headers },
    body: JSON.stringify(p.body),
  });
  if (!answer.ok && answer.status !== p.allow) {
    throw new Error(`${url} answered ${answer.status}: ${await answer.text()}`);
  }
}
