import type { FileKind } from '../sqlite/file.ts';

/**
 * The log's file. `records.value` holds packed blocks for the topic `samples` and JSON for the others, so that a
 * standard SQLite shell can show findings, verdicts and dead letters. Both indexes end in the row's own offset.
 * A forgotten state keeps its row with no value: its version must never be used again for the same key.
 */
export const LOG_FILE: FileKind = {
  port: 'log',
  applicationId: 0x43414c31,
  schemaVersion: 1,
  synchronous: 'FULL',
  pageBytes: 4096,
  schema: `
    CREATE TABLE records (
      "offset" INTEGER PRIMARY KEY AUTOINCREMENT,
      topic TEXT NOT NULL,
      key TEXT NOT NULL,
      value BLOB NOT NULL
    ) STRICT;
    CREATE INDEX records_by_topic ON records (topic);
    CREATE INDEX records_by_topic_and_key ON records (topic, key);
    CREATE TABLE group_offsets (
      group_name TEXT NOT NULL,
      topic TEXT NOT NULL,
      "offset" INTEGER NOT NULL,
      PRIMARY KEY (group_name, topic)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE group_states (
      group_name TEXT NOT NULL,
      key TEXT NOT NULL,
      version INTEGER NOT NULL,
      value TEXT,
      PRIMARY KEY (group_name, key)
    ) STRICT;
  `,
};
