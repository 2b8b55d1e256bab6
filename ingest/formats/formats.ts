import type { CsvRule, J1939Rule, SourceRule } from '../../schemas/source-rule.ts';
import { createCsvLongDecoder } from './csv-long.ts';
import { createCsvWideDecoder } from './csv-wide.ts';
import type { DecodeContext, Decoder } from './decoder.ts';
import { createJ1939CandumpDecoder } from './j1939-candump.ts';

type RuleOf = { readonly csv_wide: CsvRule; readonly csv_long: CsvRule; readonly j1939_candump: J1939Rule };

/** Every format that is read, with the maker of its decoder. A new format is one file and one row here. */
const FORMATS: { readonly [Format in SourceRule['format']]: (context: DecodeContext<RuleOf[Format]>) => Decoder } = {
  csv_wide: createCsvWideDecoder,
  csv_long: createCsvLongDecoder,
  j1939_candump: createJ1939CandumpDecoder,
};

/** The decoder for a rule. */
export function createDecoder(context: DecodeContext): Decoder {
  const create = FORMATS[context.rule.format] as (context: DecodeContext) => Decoder;
  return create(context);
}
