/** How to reach a broker and what to make there. */
export type KafkaSettings = {
  /** Addresses to begin with, `host:port`; the others are learnt from them. */
  readonly brokers: readonly string[];
  /** First word of every topic, group and transaction, so that several fleets can share a broker. */
  readonly prefix: string;
  /** Partitions of new topics, the most workers of one group that can work at once; topics that exist keep theirs. */
  readonly partitions: number;
  /** Copies of every partition in new topics. */
  readonly replicas: number;
  /** Days for which new topics keep samples; kept for good when left out. Findings, verdicts and states always are. */
  readonly retentionDays?: number;
  /** Encrypted connections; with the certificate authority's PEM text when it is none that this machine knows. */
  readonly tls?: boolean | { readonly ca: string };
  readonly sasl?: {
    readonly mechanism: 'plain' | 'scram-sha-256' | 'scram-sha-512';
    readonly username: string;
    readonly password: string;
  };
  /** How long a step may take from its first byte at the broker to its end; a worker cut off holds up others as long. */
  readonly transactionTimeoutMs?: number;
  /** Whether topics are made where there are none of this prefix, which is the default, or the log is refused. */
  readonly isNew?: 'made' | 'refused';
  /** Told of records that were passed over because nobody can read them, one sentence each. */
  readonly onNotice?: (sentence: string) => void;
};

export const DEFAULT_PREFIX = 'chargeair';
export const DEFAULT_PARTITIONS = 6;
const MAX_PARTITIONS = 1000;
/** Names of topics allow these; the dot parts the prefix from the rest. */
const PREFIX = /^[A-Za-z0-9_-]{1,100}$/;
const ADDRESS = /^(?:[A-Za-z0-9._-]+|\[[0-9A-Fa-f:]+\]):\d{1,5}$/;

/**
 * Reads the address of a log: `kafka://HOST:PORT[,HOST:PORT…][/PREFIX][?partitions=6&replicas=1&retention-days=…]`;
 * `kafka+tls://…` for encrypted connections. User names and passwords have no place in it: addresses end up in listings.
 *
 * @returns The settings, or a sentence that says what is wrong.
 */
export function parseKafkaUrl(text: string): KafkaSettings | string {
  const parts = /^kafka(\+tls)?:\/\/([^/?#]*)(?:\/([^?#]*))?(?:\?([^#]*))?$/.exec(text);
  if (parts === null) return `"${text}" is no address of a log; write kafka://HOST:PORT/PREFIX.`;
  const [, tls, hosts = '', prefix = '', query = ''] = parts;
  if (hosts.includes('@')) return 'An address holds no password; give user and password by the environment.';
  const brokers = hosts.split(',').map((host) => (/:\d+$/.test(host) ? host : `${host}:9092`));
  const strange = brokers.find((broker) => !ADDRESS.test(broker));
  if (strange !== undefined) return `"${strange}" is no HOST:PORT.`;
  if (prefix !== '' && !PREFIX.test(prefix)) return `The prefix "${prefix}" may have letters, digits, _ and - only.`;
  const settings: { -readonly [K in keyof KafkaSettings]: KafkaSettings[K] } = {
    brokers,
    prefix: prefix === '' ? DEFAULT_PREFIX : prefix,
    partitions: DEFAULT_PARTITIONS,
    replicas: 1,
    ...(tls === undefined ? {} : { tls: true }),
  };
  for (const [name, value] of new URLSearchParams(query)) {
    const whole = /^\d{1,5}$/.test(value) ? Number(value) : 0;
    if (whole < 1) return `"${name}=${value}": write a whole number from 1.`;
    if (name === 'partitions' && whole <= MAX_PARTITIONS) settings.partitions = whole;
    else if (name === 'replicas') settings.replicas = whole;
    else if (name === 'retention-days') settings.retentionDays = whole;
    else
      return `"${name}=${value}" cannot be set; there are partitions (to ${MAX_PARTITIONS}), replicas, retention-days.`;
  }
  return settings;
}
