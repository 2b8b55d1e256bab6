import { defineConfig } from 'vitest/config';

// One project a kind of test, so a developer runs what the change touches. TZ is far from UTC on purpose:
// a place that uses local time where it should not then fails here, not at a user's.
process.env.TZ = 'Pacific/Chatham';

export default defineConfig({
  test: {
    projects: [
      {
        test: {
          name: 'unit',
          include: [
            '{schemas,storage,ingest,analysis,alerts,web,cli,demo}/**/*.test.ts',
            'test/{reference,property,contract,pipeline,tooling}/**/*.test.ts',
          ],
          testTimeout: 20_000,
        },
      },
      {
        test: {
          name: 'browser',
          include: ['test/browser/**/*.test.ts'],
          testTimeout: 60_000,
          hookTimeout: 120_000,
          fileParallelism: false,
        },
      },
      {
        // Real brokers and servers on the loopback address.
        test: {
          name: 'live',
          include: ['test/live/**/*.test.ts'],
          testTimeout: 60_000,
          hookTimeout: 60_000,
          fileParallelism: false,
        },
      },
      {
        // Slow and run by itself: damaged input against the decoders, from a recorded seed.
        test: {
          name: 'fuzz',
          include: ['test/fuzz/**/*.test.ts'],
          testTimeout: 240_000,
          fileParallelism: false,
        },
      },
      {
        test: {
          name: 'process',
          include: ['test/process/**/*.test.ts'],
          testTimeout: 120_000,
          hookTimeout: 120_000,
          fileParallelism: false,
        },
      },
      {
        // Against a real broker and a real database, which it starts; see test/services.
        test: {
          name: 'services',
          include: ['test/services/**/*.test.ts'],
          globalSetup: ['test/services/start-services.ts'],
          testTimeout: 120_000,
          hookTimeout: 120_000,
          fileParallelism: false,
        },
      },
      {
        // Broker and database in containers, set up as docker-compose.fleet.yml says; needs a container engine.
        test: {
          name: 'containers',
          include: ['test/containers/**/*.test.ts'],
          testTimeout: 120_000,
          hookTimeout: 180_000,
          fileParallelism: false,
        },
      },
    ],
  },
});
