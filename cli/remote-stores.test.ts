import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { CommandFault } from './command-fault.ts';
import { historyAccess, logAccess } from './remote-stores.ts';

describe('stores named by the environment', () => {
  test('nothing named means files', () => {
    expect(logAccess({})).toBeUndefined();
    expect(logAccess({ CHARGEAIR_LOG: '' })).toBeUndefined();
    expect(historyAccess({})).toBeUndefined();
  });

  test('secrets come from the environment or from the file that it names', () => {
    const folder = mkdtempSync(join(tmpdir(), 'chargeair-'));
    const file = join(folder, 'secret');
    writeFileSync(file, 'from the file\n');
    try {
      const history = { CHARGEAIR_HISTORY: 'influx+http://db:8086' };
      expect(historyAccess({ ...history, CHARGEAIR_HISTORY_TOKEN: 't' })?.token).toBe('t');
      expect(historyAccess({ ...history, CHARGEAIR_HISTORY_TOKEN_FILE: file })?.token).toBe('from the file');
      expect(() => historyAccess(history)).toThrow(/TOKEN/);
      const missing = { CHARGEAIR_HISTORY_TOKEN_FILE: join(folder, 'none') };
      expect(() => historyAccess({ ...history, ...missing })).toThrow(CommandFault);
      const log = { CHARGEAIR_LOG: 'kafka://one', CHARGEAIR_LOG_USER: 'u' };
      expect(logAccess({ ...log, CHARGEAIR_LOG_PASSWORD_FILE: file, CHARGEAIR_LOG_CA_FILE: file })).toEqual({
        address: 'kafka://one',
        sasl: { mechanism: 'scram-sha-512', username: 'u', password: 'from the file' },
        authority: 'from the file',
      });
      expect(() => logAccess(log)).toThrow(/PASSWORD/);
      expect(() => logAccess({ ...log, CHARGEAIR_LOG_PASSWORD: 'p', CHARGEAIR_LOG_MECHANISM: 'md5' })).toThrow(/md5/);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });

  test('a password is not sent in the clear', () => {
    const plain = { CHARGEAIR_LOG_USER: 'u', CHARGEAIR_LOG_PASSWORD: 'p', CHARGEAIR_LOG_MECHANISM: 'plain' };
    expect(() => logAccess({ CHARGEAIR_LOG: 'kafka://one', ...plain })).toThrow(/plain/);
    expect(logAccess({ CHARGEAIR_LOG: 'kafka+tls://one', ...plain })?.sasl?.mechanism).toBe('plain');
  });
});
