import { mkdir, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { TestProject } from 'vitest/node';
import { startInflux } from './influx-server.ts';
import { startKafka } from './kafka-broker.ts';

declare module 'vitest' {
  interface ProvidedContext {
    /** `host:port` of a broker that all tests share; each takes a prefix of its own. */
    readonly kafkaAddress: string;
    /** A database that all tests share; each makes a bucket of its own. */
    readonly influx: { readonly url: string; readonly org: string; readonly token: string };
  }
}

/** Starts what the tests share, and ends it after the last of them. */
export async function setup(project: TestProject): Promise<() => Promise<void>> {
  const folder = await mkdtemp(join(tmpdir(), 'chargeair-services-'));
  const folders = { kafka: join(folder, 'kafka'), influx: join(folder, 'influx') };
  await Promise.all(Object.values(folders).map((one) => mkdir(one)));
  const starting = await Promise.allSettled([startKafka(folders.kafka), startInflux(folders.influx)]);
  const end = async () => {
    for (const one of starting) if (one.status === 'fulfilled') await one.value.stop();
    await rm(folder, { recursive: true, force: true });
  };
  const [kafka, influx] = starting;
  if (kafka.status === 'rejected' || influx.status === 'rejected') {
    await end();
    throw kafka.status === 'rejected' ? kafka.reason : influx.status === 'rejected' ? influx.reason : undefined;
  }
  project.provide('kafkaAddress', kafka.value.address);
  const { url, org, token } = influx.value;
  project.provide('influx', { url, org, token });
  return end;
}
