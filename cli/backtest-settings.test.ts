import { expect, test } from 'vitest';
import { backtestSettings, parseTry } from './backtest-settings.ts';

test('a try names what it sets and leaves the rest live', () => {
  expect(parseTry('rate=0.2,clip=3,run-rules=on')).toEqual({
    name: 'rate=0.2,clip=3,run-rules=on',
    rate: 0.2,
    settings: { clipStandardDeviations: 3 },
    runRules: true,
  });
});

test.each(['', 'rate', 'rate=', 'rate=x', 'rate=0', 'min-points=30.5', 'clip=1e9', 'run-rules=yes', 'toString=1'])(
  '"%s" is refused with what would mend it',
  (text) => {
    expect(() => parseTry(text)).toThrow(/Write|no setting/);
  },
);

test('the live setting comes first, and a try given twice is tried once', () => {
  const settings = backtestSettings({ rate: 2, tries: [parseTry('clip=3'), parseTry('clip=3'), parseTry('rate=5')] });
  expect(settings.map(({ name }) => name)).toEqual(['live', 'clip=3', 'rate=5']);
  expect(settings.map((one) => one.falseFindingsPer100UnitsAndWeek)).toEqual([2, 2, 5]);
});
