import { HttpError } from '@influxdata/influxdb-client';
import { PortError } from '../port-error.ts';

/** A {@link PortError} of the history. */
export function historyError(p: { code: string; message: string; retryable?: boolean; cause?: unknown }): PortError {
  return new PortError({
    port: 'history',
    code: p.code,
    message: p.message,
    retryable: p.retryable ?? false,
    cause: p.cause,
  });
}

type Failure = { readonly code: string; readonly mend: string; readonly retryable: boolean };

const UNREACHABLE: Failure = {
  code: 'unreachable',
  mend: 'It is tried again; if this stays, look whether the database runs and answers at that address.',
  retryable: true,
};

// Status codes of its interface: RFC 9110, 15.
const BY_STATUS: { readonly [status: number]: Failure } = {
  400: {
    code: 'refused',
    mend: 'Another program may have written fields of other types to this bucket.',
    retryable: false,
  },
  401: { code: 'forbidden', mend: 'Give a token that may read and write the bucket.', retryable: false },
  403: { code: 'forbidden', mend: 'Give a token that may read and write the bucket.', retryable: false },
  404: { code: 'missing', mend: 'Make the organization and the bucket, or name the right ones.', retryable: false },
  413: { code: 'too_big', mend: 'Let the database take larger requests.', retryable: false },
  422: {
    code: 'refused',
    mend: 'The bucket may keep data for a shorter time than these points are old.',
    retryable: false,
  },
  429: { code: 'busy', mend: 'It is tried again.', retryable: true },
};

/**
 * Turns a failure of the client into the port's own error; everything else is a bug of ours and comes back as it is.
 *
 * @param doing - What was being done, as in "write points".
 */
export function asHistoryError(doing: string, error: unknown): unknown {
  const failure = failureOf(error);
  if (failure === undefined || !(error instanceof Error)) return error;
  return historyError({
    code: failure.code,
    message: `Could not ${doing}: ${error.message.replace(/\.+$/, '')}. ${failure.mend}`,
    retryable: failure.retryable,
    cause: error,
  });
}

/** Whether the same may go well a little later. */
export function isPassing(error: unknown): boolean {
  return failureOf(error)?.retryable === true;
}

function failureOf(error: unknown): Failure | undefined {
  if (error instanceof HttpError) {
    return (
      BY_STATUS[error.statusCode] ?? (error.statusCode >= 500 ? UNREACHABLE : { ...UNREACHABLE, retryable: false })
    );
  }
  if (!(error instanceof Error) || error instanceof PortError) return undefined;
  const { code } = error as { code?: unknown };
  const isOfNetwork = typeof code === 'string' && /^(?:E[A-Z_]+|HPE_[A-Z_]+)$/.test(code);
  return isOfNetwork || error.name === 'RequestTimedOutError' || error.name === 'AbortError' ? UNREACHABLE : undefined;
}
