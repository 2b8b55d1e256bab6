/** A design allowance for fouling of one side of a cooler. Never an alarm limit. */
export type TypicalFouling = {
  /** What wets the surface, in the words of the tables. */
  readonly service: string;
  /** m2 K/W, one side only: the other side adds its own. */
  readonly resistanceM2KPerW: number;
  readonly source: string;
};

// 1 h ft2 degF/Btu in m2 K/W: the tables are printed in the former to one digit.
const PER_CUSTOMARY_UNIT = 0.1761101838;

const APPENDIX = 'typical fouling resistance coefficients, TEMA-type list in h ft2 degF/Btu (seen)';
const GUIDE = 'Guide to Fouling Resistances, RGP-T2.4 (compressed air seen, the rest from memory)';
const TEXTBOOK = 'Incropera et al., Fundamentals of Heat and Mass Transfer, table 11.1 (from memory)';

/**
 * Typical fouling resistances of what runs through charge-air coolers and their neighbours, as design tables give them.
 * Water figures hold for heating media up to 115 °C and, where the tables split by velocity, for up to 0.9 m/s.
 */
export const TYPICAL_FOULING: readonly TypicalFouling[] = [
  customary('seawater below 52 degC (125 degF)', 0.0005, APPENDIX),
  customary('seawater above 52 degC (125 degF)', 0.001, APPENDIX),
  customary('engine jacket water, closed system', 0.001, APPENDIX),
  customary('engine exhaust gas', 0.01, APPENDIX),
  customary('compressed air', 0.001, GUIDE),
  customary('brackish water below 52 degC (125 degF)', 0.002, GUIDE),
  customary('brackish water above 52 degC (125 degF)', 0.003, GUIDE),
  customary('cooling tower water, treated make-up, below 52 degC (125 degF)', 0.001, GUIDE),
  customary('cooling tower water, treated make-up, above 52 degC (125 degF)', 0.002, GUIDE),
  customary('cooling tower water, untreated, below 52 degC (125 degF)', 0.003, GUIDE),
  customary('cooling tower water, untreated, above 52 degC (125 degF)', 0.005, GUIDE),
  customary('city or well water below 52 degC (125 degF)', 0.001, GUIDE),
  customary('city or well water above 52 degC (125 degF)', 0.002, GUIDE),
  customary('river water, average, below 52 degC (125 degF)', 0.003, GUIDE),
  customary('river water, average, above 52 degC (125 degF)', 0.004, GUIDE),
  customary('muddy or silty water below 52 degC (125 degF)', 0.003, GUIDE),
  customary('hard water below 52 degC (125 degF)', 0.003, GUIDE),
  customary('distilled water', 0.0005, GUIDE),
  customary('treated boiler feedwater below 52 degC (125 degF)', 0.001, GUIDE),
  customary('engine lubricating oil', 0.001, GUIDE),
  customary('fuel oil no. 2', 0.002, GUIDE),
  customary('fuel oil no. 6', 0.005, GUIDE),
  customary('hydraulic fluid', 0.001, GUIDE),
  customary('ethylene glycol solution', 0.002, GUIDE),
  customary('steam, free of oil', 0.0005, GUIDE),
  customary('refrigerant liquid', 0.001, GUIDE),
  { service: 'seawater below 50 degC, textbook', resistanceM2KPerW: 0.0001, source: TEXTBOOK },
  { service: 'seawater above 50 degC, textbook', resistanceM2KPerW: 0.0002, source: TEXTBOOK },
  { service: 'fuel oil, textbook', resistanceM2KPerW: 0.0009, source: TEXTBOOK },
  { service: 'refrigerating liquids, textbook', resistanceM2KPerW: 0.0002, source: TEXTBOOK },
  { service: 'steam, non-oil bearing, textbook', resistanceM2KPerW: 0.0001, source: TEXTBOOK },
];

/**
 * The typical fouling resistance of a service, by its words without regard to case, punctuation and order.
 *
 * @returns `undefined` for a service that the table does not hold.
 */
export function typicalFouling(service: string): TypicalFouling | undefined {
  const wanted = bareWords(service);
  return TYPICAL_FOULING.find((entry) => bareWords(entry.service) === wanted);
}

function bareWords(text: string): string {
  const words = text.toLowerCase().match(/[a-z0-9]+/g) ?? [];
  return words.sort().join(' ');
}

function customary(service: string, resistance: number, source: string): TypicalFouling {
  return { service, resistanceM2KPerW: resistance * PER_CUSTOMARY_UNIT, source };
}
