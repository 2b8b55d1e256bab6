import type { Producer } from 'kafkajs';
import { type Connection, ignoreClientError } from './connection.ts';

/** A producer that is in nobody else's hands. */
export type Lease = { readonly producer: Producer; readonly transactionalId: string };

/** A few producers taken in turn: a producer has one transaction at a time, and each rests while the broker ends its last. */
export type Producers = {
  take(): Promise<Lease>;
  giveBack(lease: Lease): void;
  /** For a producer whose transaction went wrong: it is not used again. */
  discard(lease: Lease): Promise<void>;
  close(): Promise<void>;
};

/** Rest between two transactions of one producer, during which the broker writes the ends of the first everywhere. */
const PRODUCERS = 4;

export function createProducers(connection: Connection): Producers {
  const idle: Lease[] = [];
  const waiting: ((lease: Lease) => void)[] = [];
  let made = 0;

  const make = async (): Promise<Lease> => {
    made += 1;
    try {
      return await connection.createProducer();
    } catch (error) {
      made -= 1;
      throw error;
    }
  };
  return {
    async take() {
      if (made < PRODUCERS) return make();
      return idle.shift() ?? new Promise((resolve) => waiting.push(resolve));
    },
    giveBack(lease) {
      const next = waiting.shift();
      if (next === undefined) idle.push(lease);
      else next(lease);
    },
    async discard({ producer }) {
      made -= 1;
      await producer.disconnect().catch(ignoreClientError);
      const next = waiting.shift();
      if (next !== undefined) next(await make());
    },
    async close() {
      for (const { producer } of idle.splice(0)) await producer.disconnect();
    },
  };
}
