/** What a unit measures. Only units of one dimension convert into each other. */
export type Dimension =
  | 'pressure'
  | 'temperature'
  | 'rotational speed'
  | 'volume flow'
  | 'mass flow'
  | 'road speed'
  | 'ratio'
  | 'power'
  | 'time'
  | 'length'
  | 'area'
  | 'volume'
  | 'mass'
  | 'density'
  | 'energy'
  | 'torque'
  | 'specific fuel consumption'
  | 'specific energy'
  | 'specific heat capacity'
  | 'heat transfer coefficient'
  | 'fouling resistance';

/** One unit: what it measures, how large it is, and how logs spell it. */
export type UnitDefinition = {
  readonly dimension: Dimension;
  /** Size of the unit in the coherent SI unit of its dimension: SI value = value * scale + offset. */
  readonly scale: number;
  readonly offset: number;
  /** Spellings found in log headers besides the key itself; compared without regard to case. */
  readonly spellings: readonly string[];
};

// Exact by definition (SI brochure, 9th ed.; NIST SP 811 (2008) appendix B): the yard and pound agreement of 1959,
// standard gravity, the conventional columns of mercury (13.5951 g/cm3) and water (1 g/cm3), the IT British thermal unit.
const FOOT_M = 0.3048;
const INCH_M = 0.0254;
const POUND_KG = 0.45359237;
const GRAVITY_M_PER_S2 = 9.80665;
const MERCURY_KG_PER_M3 = 13_595.1;
const WATER_KG_PER_M3 = 1000;
const US_GALLON_M3 = 231 * INCH_M ** 3;
const UK_GALLON_M3 = 4.54609e-3;
const BTU_IT_J = 1055.05585262;
const FAHRENHEIT_K = 5 / 9;
const POUND_FORCE_N = POUND_KG * GRAVITY_M_PER_S2;
const HORSEPOWER_W = 550 * FOOT_M * POUND_FORCE_N;
const METRIC_HORSEPOWER_W = 75 * GRAVITY_M_PER_S2;
const BTU_U_W_PER_M2K = BTU_IT_J / (3600 * FOOT_M ** 2 * FAHRENHEIT_K);

/** Every unit that a source may state, by its key. */
export const UNITS = {
  Pa: unit('pressure', 1, 'pascal'),
  hPa: unit('pressure', 100, 'hectopascal'),
  kPa: unit('pressure', 1000, 'kilopascal', 'kpas'),
  MPa: unit('pressure', 1e6, 'megapascal'),
  mbar: unit('pressure', 100, 'millibar'),
  bar: unit('pressure', 1e5, 'bars'),
  atm: unit('pressure', 101_325, 'atmosphere'),
  torr: unit('pressure', 101_325 / 760),
  psi: unit('pressure', POUND_FORCE_N / INCH_M ** 2, 'lbf/in2', 'lb/in2', 'lbs/in2', 'pounds per square inch'),
  'kgf/cm2': unit('pressure', GRAVITY_M_PER_S2 * 1e4, 'kg/cm2', 'kp/cm2', 'at', 'technical atmosphere'),
  mmHg: unit('pressure', 1e-3 * MERCURY_KG_PER_M3 * GRAVITY_M_PER_S2, 'mm hg', 'mmhg conventional'),
  inHg: unit('pressure', INCH_M * MERCURY_KG_PER_M3 * GRAVITY_M_PER_S2, 'in hg', '"hg', 'inhg conventional'),
  mmH2O: unit('pressure', 1e-3 * WATER_KG_PER_M3 * GRAVITY_M_PER_S2, 'mm h2o', 'mmwc', 'mmwg', 'mmh2o conventional'),
  cmH2O: unit('pressure', 1e-2 * WATER_KG_PER_M3 * GRAVITY_M_PER_S2, 'cm h2o', 'cmwc', 'cmh2o conventional'),
  ftH2O: unit('pressure', FOOT_M * WATER_KG_PER_M3 * GRAVITY_M_PER_S2, 'ft h2o', 'fth2o conventional'),
  inH2O: unit(
    'pressure',
    INCH_M * WATER_KG_PER_M3 * GRAVITY_M_PER_S2,
    'in h2o',
    '"h2o',
    'inwc',
    'in wc',
    'inwg',
    'inh2o conventional',
  ),
  K: unit('temperature', 1, 'kelvin', 'kelvins', 'degk', 'deg k', '°k'),
  degC: affine(
    'temperature',
    1,
    273.15,
    'c',
    '°c',
    '℃',
    'deg c',
    'degrees c',
    'celsius',
    'deg. c',
    'degree celsius',
    'degrees celsius',
  ),
  degF: affine(
    'temperature',
    FAHRENHEIT_K,
    459.67 * FAHRENHEIT_K,
    'f',
    '°f',
    '℉',
    'deg f',
    'degrees f',
    'fahrenheit',
    'deg. f',
    'degrees fahrenheit',
  ),
  degR: unit('temperature', FAHRENHEIT_K, 'rankine', '°r', 'deg r'),
  rpm: unit(
    'rotational speed',
    1 / 60,
    'r/min',
    'rev/min',
    '1/min',
    'min-1',
    'min^-1',
    'u/min',
    'revolutions per minute',
  ),
  Hz: unit('rotational speed', 1, 'hertz', '1/s', 's-1', 's^-1', 'rev/s', 'r/s', 'rps'),
  'rad/s': unit('rotational speed', 1 / (2 * Math.PI), 'rad/sec', 'radians per second'),
  'L/h': unit(
    'volume flow',
    1e-3 / 3600,
    'l/hr',
    'l/hour',
    'lph',
    'litre/h',
    'liter/h',
    'litres/hour',
    'liters/hour',
    'litres per hour',
    'liters per hour',
  ),
  'L/min': unit('volume flow', 1e-3 / 60, 'lpm', 'litres per minute', 'liters per minute'),
  'L/s': unit('volume flow', 1e-3, 'l/sec'),
  'mL/s': unit('volume flow', 1e-6, 'ml/sec', 'cm3/s', 'cc/s'),
  'm3/s': unit('volume flow', 1, 'm3/sec'),
  'm3/h': unit('volume flow', 1 / 3600, 'm3/hr'),
  'ft3/min': unit('volume flow', FOOT_M ** 3 / 60, 'cfm', 'cu ft/min'),
  'gal/h': unit(
    'volume flow',
    US_GALLON_M3 / 3600,
    'gph',
    'gal/hr',
    'usgal/h',
    'us gal/h',
    'gal us/h',
    'galus/h',
    'gallons per hour',
  ),
  'gal/min': unit('volume flow', US_GALLON_M3 / 60, 'gpm', 'us gal/min', 'gal us/min'),
  'galUK/h': unit('volume flow', UK_GALLON_M3 / 3600, 'gal uk/h', 'uk gal/h', 'imp gal/h', 'gal imp/h', 'igph'),
  'kg/s': unit('mass flow', 1, 'kg/sec'),
  'kg/h': unit('mass flow', 1 / 3600, 'kg/hr', 'kg/hour'),
  'kg/min': unit('mass flow', 1 / 60),
  'g/s': unit('mass flow', 1e-3, 'g/sec', 'grams/sec', 'gm/s', 'gm/sec'),
  'lb/min': unit('mass flow', POUND_KG / 60, 'lbs/min', 'lbm/min'),
  'lb/h': unit('mass flow', POUND_KG / 3600, 'lbs/h', 'lb/hr', 'lbs/hr', 'pph'),
  'lb/s': unit('mass flow', POUND_KG, 'lbm/s', 'lb/sec'),
  't/h': unit('mass flow', 1000 / 3600),
  'km/h': unit('road speed', 1 / 3.6, 'kph', 'kmh', 'km/hr', 'kmph'),
  'm/s': unit('road speed', 1, 'm/sec'),
  mph: unit('road speed', 1609.344 / 3600, 'mi/h', 'miles/h', 'miles per hour'),
  kn: unit('road speed', 1852 / 3600, 'kt', 'kts', 'knot', 'knots'),
  'ft/s': unit('road speed', FOOT_M),
  ratio: unit('ratio', 1, '1', '-', 'fraction', 'decimal'),
  '%': unit('ratio', 0.01, 'pct', 'percent', 'per cent', '％'),
  W: unit('power', 1, 'watt', 'watts'),
  kW: unit('power', 1000, 'kilowatt', 'kilowatts'),
  MW: unit('power', 1e6),
  hp: unit('power', HORSEPOWER_W, 'bhp', 'horsepower', 'hp 550ftlbf', 'hp(i)'),
  PS: unit('power', METRIC_HORSEPOWER_W, 'hp metric', 'cv', 'metric hp', 'hp(m)'),
  'Btu/h': unit('power', BTU_IT_J / 3600, 'btuit/h', 'btu/hr'),
  s: unit('time', 1, 'sec', 'second', 'seconds'),
  ms: unit('time', 1e-3, 'msec', 'millisecond', 'milliseconds'),
  min: unit('time', 60, 'mins', 'minute', 'minutes'),
  h: unit('time', 3600, 'hr', 'hrs', 'hour', 'hours'),
  d: unit('time', 86_400, 'day', 'days'),
  m: unit('length', 1, 'metre', 'meter', 'metres', 'meters'),
  mm: unit('length', 1e-3, 'millimetre', 'millimeter'),
  cm: unit('length', 1e-2),
  km: unit('length', 1000, 'kilometre', 'kilometer', 'kilometres', 'kilometers'),
  in: unit('length', INCH_M, 'inch', 'inches'),
  ft: unit('length', FOOT_M, 'foot', 'feet'),
  mi: unit('length', 1609.344, 'mile', 'miles'),
  nmi: unit('length', 1852, 'nautical mile', 'nautical miles'),
  m2: unit('area', 1, 'sq m'),
  ft2: unit('area', FOOT_M ** 2, 'sq ft'),
  m3: unit('volume', 1),
  L: unit('volume', 1e-3, 'litre', 'liter', 'litres', 'liters', 'ltr', 'dm3'),
  cm3: unit('volume', 1e-6, 'cc', 'ml'),
  in3: unit('volume', INCH_M ** 3, 'cu in', 'cid'),
  ft3: unit('volume', FOOT_M ** 3, 'cu ft'),
  gal: unit('volume', US_GALLON_M3, 'gallon', 'gallons', 'us gal', 'gal us', 'galus'),
  galUK: unit('volume', UK_GALLON_M3, 'imp gal', 'gal uk', 'uk gal', 'gal imp'),
  kg: unit('mass', 1),
  g: unit('mass', 1e-3, 'gram', 'grams'),
  lb: unit('mass', POUND_KG, 'lbs', 'lbm', 'pound', 'pounds'),
  t: unit('mass', 1000, 'tonne', 'tonnes'),
  'kg/m3': unit('density', 1),
  'g/cm3': unit('density', 1000, 'kg/l', 'g/ml'),
  'lb/ft3': unit('density', POUND_KG / FOOT_M ** 3, 'lbm/ft3'),
  'lb/galUS': unit('density', POUND_KG / US_GALLON_M3, 'lb/gal'),
  J: unit('energy', 1, 'joule'),
  kJ: unit('energy', 1000),
  MJ: unit('energy', 1e6),
  kWh: unit('energy', 3.6e6, 'kw h'),
  Btu: unit('energy', BTU_IT_J, 'btuit'),
  'N m': unit('torque', 1, 'nm', 'newton metre', 'newton meter'),
  'lbf ft': unit('torque', POUND_FORCE_N * FOOT_M, 'lb-ft', 'ft-lb', 'ft-lbf', 'lbf-ft', 'ft lbf', 'lb ft'),
  'g/(kW h)': unit('specific fuel consumption', 1e-3 / 3.6e6, 'g/kwh', 'g/kw h', 'g/kw-h'),
  'lb/(hp h)': unit(
    'specific fuel consumption',
    POUND_KG / (HORSEPOWER_W * 3600),
    'lb/hph',
    'lb/hp h',
    'lb/hp-h',
    'lb/bhp-hr',
  ),
  'kJ/kg': unit('specific energy', 1000),
  'J/kg': unit('specific energy', 1),
  'Btu/lb': unit('specific energy', BTU_IT_J / POUND_KG, 'btuit/lb'),
  'kJ/(kg K)': unit('specific heat capacity', 1000, 'kj/kgk', 'kj/kg k'),
  'J/(kg K)': unit('specific heat capacity', 1, 'j/kgk', 'j/kg k'),
  'Btu/(lb degF)': unit('specific heat capacity', BTU_IT_J / (POUND_KG * FAHRENHEIT_K), 'btuit/lb degf'),
  'W/(m2 K)': unit('heat transfer coefficient', 1, 'w/m2k', 'w/m2 k'),
  'Btu/(h ft2 degF)': unit(
    'heat transfer coefficient',
    BTU_U_W_PER_M2K,
    'btu/h ft2 degf',
    'btuit/h ft2 degf',
    'btu/hr ft2 f',
  ),
  'm2 K/W': unit('fouling resistance', 1, 'm2k/w'),
  'h ft2 degF/Btu': unit('fouling resistance', 1 / BTU_U_W_PER_M2K, 'h ft2 degf/btuit', 'hr ft2 f/btu'),
} as const satisfies Record<string, UnitDefinition>;

/** Key of a unit in {@link UNITS}. */
export type UnitKey = keyof typeof UNITS;

function unit(dimension: Dimension, scale: number, ...spellings: string[]): UnitDefinition {
  return { dimension, scale, offset: 0, spellings };
}

function affine(dimension: Dimension, scale: number, offset: number, ...spellings: string[]): UnitDefinition {
  return { dimension, scale, offset, spellings };
}
