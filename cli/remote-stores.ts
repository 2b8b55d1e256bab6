import { readFileSync } from 'node:fs';
import { CommandFault } from './command-fault.ts';
import { fileErrorSentence } from './file-error.ts';

/** Where a log or a history is that is no file, and how to get in. */
export const STORE_VARIABLES = {
  log: 'CHARGEAIR_LOG',
  history: 'CHARGEAIR_HISTORY',
  user: 'CHARGEAIR_LOG_USER',
  password: 'CHARGEAIR_LOG_PASSWORD',
  mechanism: 'CHARGEAIR_LOG_MECHANISM',
  authority: 'CHARGEAIR_LOG_CA_FILE',
  token: 'CHARGEAIR_HISTORY_TOKEN',
} as const;

type Environment = { readonly [name: string]: string | undefined };

/** How to get into a broker; `address` as it was given. */
export type LogAccess = {
  readonly address: string;
  readonly sasl?: { readonly mechanism: Mechanism; readonly username: string; readonly password: string };
  /** PEM text of the certificate authority that vouches for the brokers. */
  readonly authority?: string;
};
type Mechanism = 'plain' | 'scram-sha-256' | 'scram-sha-512';

const MECHANISMS: readonly Mechanism[] = ['plain', 'scram-sha-256', 'scram-sha-512'];

/**
 * The broker that the environment names; `undefined` when the log is a file.
 *
 * @param environment - `CHARGEAIR_LOG` and, where the broker asks who comes, `CHARGEAIR_LOG_USER` with
 *   `CHARGEAIR_LOG_PASSWORD`, or `CHARGEAIR_LOG_PASSWORD_FILE` for a file that holds it.
 * @throws CommandFault that says what is wrong.
 */
export function logAccess(environment: Environment): LogAccess | undefined {
  const address = given(environment, STORE_VARIABLES.log);
  if (address === undefined) return undefined;
  const sasl = saslOf(environment);
  const authority = given(environment, STORE_VARIABLES.authority);
  if (sasl?.mechanism === 'plain' && !address.startsWith('kafka+tls:')) {
    throw new CommandFault({
      message: `${STORE_VARIABLES.mechanism}: "plain" would send the password for all to read; use kafka+tls:// or a scram mechanism.`,
    });
  }
  return {
    address,
    ...(sasl === undefined ? {} : { sasl }),
    ...(authority === undefined ? {} : { authority: readSecret(authority) }),
  };
}

/**
 * The database that the environment names, with its token; `undefined` when the history is a file.
 *
 * @throws CommandFault when there is no token.
 */
export function historyAccess(
  environment: Environment,
): { readonly address: string; readonly token: string } | undefined {
  const address = given(environment, STORE_VARIABLES.history);
  if (address === undefined) return undefined;
  const token = secret(environment, STORE_VARIABLES.token);
  if (token === undefined) {
    throw new CommandFault({
      message: `The history in ${address} needs a token: set ${STORE_VARIABLES.token}, or ${STORE_VARIABLES.token}_FILE to a file that holds it.`,
    });
  }
  return { address, token };
}

function saslOf(environment: Environment): LogAccess['sasl'] {
  const username = given(environment, STORE_VARIABLES.user);
  if (username === undefined) return undefined;
  const password = secret(environment, STORE_VARIABLES.password);
  if (password === undefined) {
    throw new CommandFault({
      message: `${STORE_VARIABLES.user} is set, but neither ${STORE_VARIABLES.password} nor ${STORE_VARIABLES.password}_FILE.`,
    });
  }
  const named = given(environment, STORE_VARIABLES.mechanism) ?? 'scram-sha-512';
  const mechanism = MECHANISMS.find((one) => one === named);
  if (mechanism === undefined) {
    throw new CommandFault({
      message: `${STORE_VARIABLES.mechanism}: "${named}" is none of ${MECHANISMS.join(', ')}.`,
    });
  }
  return { mechanism, username, password };
}

/** A secret from its variable, or from the file that the variable with `_FILE` names. */
function secret(environment: Environment, name: string): string | undefined {
  const file = given(environment, `${name}_FILE`);
  return given(environment, name) ?? (file === undefined ? undefined : readSecret(file));
}

function given(environment: Environment, name: string): string | undefined {
  const value = environment[name];
  return value === undefined || value === '' ? undefined : value;
}

function readSecret(path: string): string {
  try {
    return readFileSync(path, 'utf8').trim();
  } catch (error) {
    throw new CommandFault({ message: `${path} ${fileErrorSentence(error)}` });
  }
}
