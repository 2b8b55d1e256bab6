import type { PressureReference } from '../schemas/signals.ts';
import type { ModelSignal } from './engine/outputs.ts';

/** Units that the demonstration's logs are written in, each with its line from the canonical unit. */
export const LOG_UNITS = {
  kPa: { scale: 1, offset: 0 },
  bar: { scale: 0.01, offset: 0 },
  mbar: { scale: 10, offset: 0 },
  psi: { scale: 1 / 6.894757293168, offset: 0 },
  degC: { scale: 1, offset: 0 },
  degF: { scale: 1.8, offset: 32 },
  rpm: { scale: 1, offset: 0 },
  '%': { scale: 1, offset: 0 },
  'L/h': { scale: 1, offset: 0 },
  'km/h': { scale: 1, offset: 0 },
  h: { scale: 1, offset: 0 },
} as const;
export type LogUnit = keyof typeof LOG_UNITS;

/** One column of a log: its header, its unit and how many decimals it shows. */
export type LogColumn = {
  readonly key: ModelSignal;
  readonly header: string;
  readonly unit: LogUnit;
  readonly decimals: 0 | 1 | 2 | 3;
  /** Set where the file shows a pressure against another reference than is usual for the signal. */
  readonly reference?: PressureReference;
};

/** How a unit's logger writes. On purpose no two are alike: fleets are so. */
export type LogForm =
  | { readonly form: 'j1939_candump'; readonly sourceAddress: number; readonly interface: string }
  | {
      readonly form: 'csv_wide' | 'csv_long';
      readonly delimiter: ',' | ';' | '\t';
      readonly decimal: '.' | ',';
      readonly byteOrderMark: boolean;
      readonly lineEnd: '\n' | '\r\n';
      readonly notAvailable: string;
      readonly timeHeader: string;
      readonly time: 'iso8601' | 'epoch_seconds' | 'epoch_milliseconds' | 'DD.MM.YYYY HH:mm:ss';
      /** Zone of written clock times; only with the pattern. */
      readonly timeZone?: string;
      /** Lines before the header. */
      readonly preamble: readonly string[];
      readonly columns: readonly LogColumn[];
    };
