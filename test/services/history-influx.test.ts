import { randomUUID } from 'node:crypto';
import { inject } from 'vitest';
import { openInfluxHistory } from '../../storage/history/influx.ts';
import { describeHistory } from '../contract/history-contract.ts';
import { makeBucket } from './influx-server.ts';

describeHistory('InfluxDB', () => {
  const run = randomUUID().slice(0, 8);
  return async (name) => {
    const settings = { ...inject('influx'), bucket: `${run}-${name}` };
    await makeBucket(settings);
    return openInfluxHistory(settings);
  };
});
