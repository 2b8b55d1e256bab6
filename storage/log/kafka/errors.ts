import { PortError } from '../../port-error.ts';

/** A {@link PortError} of the log. */
export function logError(p: { code: string; message: string; retryable?: boolean; cause?: unknown }): PortError {
  return new PortError({
    port: 'log',
    code: p.code,
    message: p.message,
    retryable: p.retryable ?? false,
    cause: p.cause,
  });
}

type Failure = { readonly code: string; readonly mend: string; readonly retryable: boolean };

// Error names of the Kafka protocol: https://kafka.apache.org/protocol.html#protocol_error_codes
const FENCED: Failure = {
  code: 'fenced',
  mend: 'The broker has closed this step, as it took too long or another took its place; nothing of it happened. It is taken up again.',
  retryable: true,
};
const FORBIDDEN: Failure = {
  code: 'forbidden',
  mend: 'Give this user the right to read and write the topics, groups and transactional ids of this prefix.',
  retryable: false,
};
const TOO_BIG: Failure = { code: 'too_big', mend: 'Make the blocks or states smaller.', retryable: false };

const BY_TYPE: { readonly [type: string]: Failure } = {
  INVALID_PRODUCER_EPOCH: FENCED,
  PRODUCER_FENCED: FENCED,
  INVALID_TXN_STATE: FENCED,
  INVALID_PRODUCER_ID_MAPPING: FENCED,
  OUT_OF_ORDER_SEQUENCE_NUMBER: FENCED,
  UNKNOWN_PRODUCER_ID: FENCED,
  TRANSACTION_COORDINATOR_FENCED: FENCED,
  TOPIC_AUTHORIZATION_FAILED: FORBIDDEN,
  GROUP_AUTHORIZATION_FAILED: FORBIDDEN,
  CLUSTER_AUTHORIZATION_FAILED: FORBIDDEN,
  TRANSACTIONAL_ID_AUTHORIZATION_FAILED: FORBIDDEN,
  SASL_AUTHENTICATION_FAILED: FORBIDDEN,
  UNSUPPORTED_SASL_MECHANISM: FORBIDDEN,
  ILLEGAL_SASL_STATE: FORBIDDEN,
  MESSAGE_TOO_LARGE: TOO_BIG,
  RECORD_LIST_TOO_LARGE: TOO_BIG,
  KAFKA_STORAGE_ERROR: {
    code: 'io',
    mend: 'The disk of a broker failed; look at its log.',
    retryable: true,
  },
  INVALID_REPLICATION_FACTOR: {
    code: 'too_few_brokers',
    mend: 'Ask for fewer replicas, or start more brokers.',
    retryable: false,
  },
};

const UNREACHABLE: Failure = {
  code: 'unreachable',
  mend: 'It is tried again; if this stays, look whether the broker runs and answers at that address.',
  retryable: true,
};

/** What the client throws, as far as it is looked at. */
type ClientError = {
  readonly name?: unknown;
  readonly type?: unknown;
  readonly cause?: unknown;
  readonly retriable?: unknown;
};

/**
 * Turns a failure of the client into the port's own error; everything else is a bug of ours and comes back as it is.
 *
 * @param doing - What was being done, as in "write a step to the broker".
 */
export function asLogError(doing: string, error: unknown): unknown {
  if (error instanceof PortError || !isClientError(error)) return error;
  const failure = failureOf(error) ?? (isSasl(error) ? FORBIDDEN : UNREACHABLE);
  const said = error instanceof Error ? error.message : String(error);
  return logError({
    code: failure.code,
    message: `Could not ${doing}: ${said.replace(/\.+$/, '')}. ${failure.mend}`,
    retryable: failure.retryable,
    cause: error,
  });
}

function failureOf(error: unknown, depth = 0): Failure | undefined {
  if (typeof error !== 'object' || error === null || depth > 4) return undefined;
  const { type, cause } = error as ClientError;
  return (typeof type === 'string' ? BY_TYPE[type] : undefined) ?? failureOf(cause, depth + 1);
}

function isSasl(error: unknown): boolean {
  const { name, cause } = error as ClientError;
  return name === 'KafkaJSSASLAuthenticationError' || (cause instanceof Error && isSasl(cause));
}

/** Whether the client made this error; it does not export its classes in a way that survives retries. */
export function isClientError(error: unknown): error is Error {
  if (!(error instanceof Error)) return false;
  const { code } = error as { code?: unknown };
  return error.name.startsWith('KafkaJS') || (typeof code === 'string' && /^E[A-Z]+$/.test(code));
}

/** Protocol name of a client's error, such as `OFFSET_OUT_OF_RANGE`. */
export function protocolType(error: unknown): string | undefined {
  const { type } = (typeof error === 'object' && error !== null ? error : {}) as ClientError;
  return typeof type === 'string' ? type : undefined;
}
