/** A failure of the world behind a port: disk, broker, network. Only a worker loop acts on it. */
export class PortError extends Error {
  override readonly name = 'PortError';
  readonly port: 'log' | 'history';
  readonly code: string;
  /** False unless the adapter knows that trying again can help. */
  readonly retryable: boolean;

  constructor(p: { port: 'log' | 'history'; code: string; message: string; retryable: boolean; cause?: unknown }) {
    super(p.message, { cause: p.cause });
    this.port = p.port;
    this.code = p.code;
    this.retryable = p.retryable;
  }
}
