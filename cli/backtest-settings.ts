import { InvalidArgumentError } from 'commander';
import type { BacktestSetting } from '../analysis/backtest.ts';
import type { AnalysisSettings } from '../analysis/settings.ts';
import { closestWord } from './closest-word.ts';

/** What `--try` may set: its range, and where it goes. Ranges keep what cannot work out of a run of minutes. */
const NUMBERS: Readonly<
  Record<
    string,
    {
      readonly min: number;
      readonly max: number;
      readonly whole: boolean;
      readonly to: keyof AnalysisSettings | 'rate';
    }
  >
> = {
  rate: { min: 0.001, max: 1000, whole: false, to: 'rate' },
  'learning-hours': { min: 10, max: 5000, whole: false, to: 'minRunningHours' },
  'min-points': { min: 20, max: 160, whole: true, to: 'minPoints' },
  'min-channel-points': { min: 20, max: 160, whole: true, to: 'minChannelPoints' },
  'reference-value': { min: 0.1, max: 3, whole: false, to: 'cusumReferenceValue' },
  clip: { min: 1, max: 20, whole: false, to: 'clipStandardDeviations' },
};
const NAMES = [...Object.keys(NUMBERS), 'run-rules'];

/** For the help of the command. */
export const TRY_HELP = `a setting to try, of ${Object.entries(NUMBERS)
  .map(([name, { min, max }]) => `${name} (${min} to ${max})`)
  .join(
    ', ',
  )}, run-rules=on; several of one try are joined by commas, such as rate=0.2,clip=3; may be given several times`;

/** What one `--try` asks for, on top of the live settings. */
export type Try = {
  readonly name: string;
  readonly rate?: number;
  readonly settings: Partial<AnalysisSettings>;
  readonly runRules: boolean;
};

/**
 * One `--try`, such as `rate=0.2,clip=3`.
 *
 * @throws InvalidArgumentError that says what would mend it.
 */
export function parseTry(text: string): Try {
  const settings: { -readonly [K in keyof AnalysisSettings]?: number } = {};
  let rate: number | undefined;
  let runRules = false;
  for (const part of text.split(',')) {
    const [name = '', value = ''] = part.split('=').map((word) => word.trim());
    if (name === 'run-rules') {
      if (value !== 'on' && value !== 'off') throw new InvalidArgumentError('Write run-rules=on or run-rules=off.');
      runRules = value === 'on';
      continue;
    }
    const rule = Object.hasOwn(NUMBERS, name) ? NUMBERS[name] : undefined;
    if (rule === undefined) {
      const near = closestWord({ word: name, known: NAMES });
      throw new InvalidArgumentError(
        `"${name}" is no setting${near === undefined ? '' : `; did you mean ${near}?`} There are ${NAMES.join(', ')}.`,
      );
    }
    const number = Number(value);
    const fits = value !== '' && number >= rule.min && number <= rule.max && (!rule.whole || Number.isInteger(number));
    if (!fits)
      throw new InvalidArgumentError(
        `Write ${name} as a ${rule.whole ? 'whole ' : ''}number from ${rule.min} to ${rule.max}.`,
      );
    if (rule.to === 'rate') rate = number;
    else settings[rule.to] = number;
  }
  return { name: text, settings, runRules, ...(rate === undefined ? {} : { rate }) };
}

/** The live setting first, then those to try, each on top of it; one that is asked for twice is tried once. */
export function backtestSettings(p: {
  readonly rate: number;
  readonly tries: readonly Try[];
}): readonly BacktestSetting[] {
  const named = new Map(p.tries.map((one) => [one.name, one]));
  return [
    { name: 'live', falseFindingsPer100UnitsAndWeek: p.rate, settings: {}, runRules: false },
    ...[...named.values()].map((one) => ({
      name: one.name,
      falseFindingsPer100UnitsAndWeek: one.rate ?? p.rate,
      settings: one.settings,
      runRules: one.runRules,
    })),
  ];
}
