import type { CsvRule, J1939Rule, N2kRule, SignalKRule, SourceRule } from '../../schemas/source-rule.ts';
import { createCsvLongDecoder } from './csv-long.ts';
import { createCsvWideDecoder } from './csv-wide.ts';
import type { DecodeContext, Decoder } from './decoder.ts';
import { createJ1939CandumpDecoder } from './j1939-candump.ts';
import { createN2kCandumpDecoder } from './n2k-candump.ts';
import { createN2kFramesDecoder } from './n2k-frames.ts';
import { createSignalKDecoder } from './signalk-delta.ts';

type RuleOf = {
  readonly csv_wide: CsvRule;
  readonly csv_long: CsvRule;
  readonly j1939_candump: J1939Rule;
  readonly n2k_frames: N2kRule;
  readonly n2k_candump: N2kRule;
  readonly signalk_delta: SignalKRule;
};

/** Every format that is read, with the maker of its decoder. A new format is one file and one row here. */
const FORMATS: { readonly [Format in SourceRule['format']]: (context: DecodeContext<RuleOf[Format]>) => Decoder } = {
  csv_wide: createCsvWideDecoder,
  csv_long: createCsvLongDecoder,
  j1939_candump: createJ1939CandumpDecoder,
  n2k_frames: createN2kFramesDecoder,
  n2k_candump: createN2kCandumpDecoder,
  signalk_delta: createSignalKDecoder,
};

/** The decoder for a rule. */
export function createDecoder(context: DecodeContext): Decoder {
  const create = FORMATS[context.rule.format] as (context: DecodeContext) => Decoder;
  return create(context);
}
