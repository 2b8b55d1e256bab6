import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { TestProject } from 'vitest/node';
import { startKafka } from './kafka-broker.ts';

declare module 'vitest' {
  interface ProvidedContext {
    /** `host:port` of a broker that all tests share; each takes a prefix of its own. */
    readonly kafkaAddress: string;
  }
}

/** Starts what the tests share, and ends it after the last of them. */
export default async function startServices(project: TestProject): Promise<() => Promise<void>> {
  const folder = await mkdtemp(join(tmpdir(), 'chargeair-services-'));
  const broker = await startKafka(folder);
  project.provide('kafkaAddress', broker.address);
  return async () => {
    await broker.stop();
    await rm(folder, { recursive: true, force: true });
  };
}
