import type { J1939Parameter } from './j1939-parameters.ts';
import type { TransportSummary } from './j1939-transport.ts';
import type { DiagnosticState } from './j1939-trouble-codes.ts';
import type { RunningStatistics } from './running-statistics.ts';

/** One parameter as one sender sent it. */
export type ParameterSummary = {
  readonly parameter: J1939Parameter;
  readonly sourceAddress: number;
  frames: number;
  notAvailable: number;
  error: number;
  /** Parameter-specific (0xFB) and reserved (0xFC, 0xFD) codes. */
  reserved: number;
  /** Of the valid values, believed or not. */
  readonly statistics: RunningStatistics;
};

/** What a bus log holds beside its samples. */
export type BusSummary = {
  readonly frames: number;
  readonly remoteFrames: number;
  /** Frames with an 11-bit identifier; J1939 has none. */
  readonly standardFrames: number;
  /** Frames by interface. */
  readonly interfaces: ReadonlyMap<string, number>;
  /** The interface that was read. */
  readonly readInterface: string | undefined;
  readonly timesGoingBack: number;
  readonly firstMs: number;
  readonly lastMs: number;
  readonly framesPerPgn: ReadonlyMap<number, number>;
  readonly parameters: readonly ParameterSummary[];
  readonly troubleCodes: readonly DiagnosticState[];
  /** Further states of the trouble codes that are not listed. */
  readonly troubleCodesLeftOut: number;
  readonly transport: TransportSummary;
};
