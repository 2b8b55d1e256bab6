import { randomUUID } from 'node:crypto';
import { inject } from 'vitest';
import { openKafkaLog } from '../../storage/log/kafka.ts';
import { describeLog } from '../contract/log-contract.ts';

describeLog(
  'Kafka',
  () => {
    const run = randomUUID().slice(0, 8);
    return async (name) =>
      openKafkaLog({ brokers: [inject('kafkaAddress')], prefix: `${run}-${name}`, partitions: 3, replicas: 1 });
  },
  {
    skip: [
      {
        test: 'two openings of one log see each other, and only one of them may deal with a batch',
        reason: 'workers of one group share the partitions out, so two of them are not handed the same batch',
      },
    ],
  },
);
