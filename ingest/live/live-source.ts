import type { FleetFile } from '../../schemas/fleet-file.ts';
import type { LogPort } from '../../storage/log/port.ts';
import type { Clock } from './clock.ts';

/** What every live source is given. */
export type LiveSetting = {
  readonly log: LogPort;
  readonly fleet: FleetFile;
  readonly clock: Clock;
  /** Folder that relative file names of the settings are below. */
  readonly baseFolder: string;
  /** Says something to the person who watches. */
  readonly say: (sentence: string) => void;
  /** Called when the source cannot go on: the log has failed for good. */
  readonly onFailure: (error: unknown) => void;
};

/** A source that is running. */
export type LiveSource = {
  readonly id: string;
  /** Takes nothing more, makes durable what was taken, and lets go. Resolves when that is done. */
  stop(): Promise<void>;
};

/** A live source cannot start or go on with what the settings say; a sentence on how to mend it. */
export class LiveSourceError extends Error {
  override readonly name = 'LiveSourceError';
}
