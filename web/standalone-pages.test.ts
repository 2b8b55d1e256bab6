import { describe, expect, test } from 'vitest';
import { type BacktestView, backtestPage } from './backtest-page.ts';
import { operatingMap } from './operating-map.ts';
import { type UnitReportView, unitReportPage } from './unit-report-page.ts';

// That nothing is loaded from elsewhere is checked on the markup: HTML, section 4.2.4 (link), 4.8 (embedded content).
const OUTSIDE = /<script|<link(?! rel="icon" href="data:,")|src=|@import|url\(/;
const DAY_MS = 86_400_000;

const backtest: BacktestView = {
  fleetName: 'Fleet <b>one</b>',
  zone: 'UTC',
  fromMs: 0,
  toMs: 100 * DAY_MS,
  units: 1,
  unitWeeks: 12,
  truth: 'Held against a list.',
  lines: [
    {
      setting: 'live',
      detected: 1,
      missed: 0,
      medianDelayHours: 40,
      medianDelayDays: 5,
      findings: 2,
      upsets: { true: 1, false: 1, unjudged: 0 },
      falseRate: { estimate: 8, lower: 0.4, upper: 39 },
      precision: 0.5,
    },
  ],
  faults: [{ unitName: 'Unit', term: 'leak', fromMs: 50 * DAY_MS, onset: 'stated', outcomes: ['40 h, 5 days'] }],
  lanes: [
    {
      unitName: 'Unit',
      faults: [{ fromMs: 50 * DAY_MS, toMs: 100 * DAY_MS, term: 'leak' }],
      settings: [{ learntMs: 5 * DAY_MS, alarms: [{ fromMs: 55 * DAY_MS, toMs: 100 * DAY_MS, verdict: 'true' }] }],
    },
  ],
};

describe('the page of a back-test', () => {
  test('stands alone, escapes names, and draws settings and alarms', () => {
    const page = backtestPage(backtest);
    expect(page).not.toMatch(OUTSIDE);
    expect(page).toContain('Fleet &lt;b&gt;one&lt;/b&gt;');
    expect(page).toContain('alarm-bar true');
    expect(page).toContain('8.00 (0.400 to 39.0)');
  });

  test('without a rate or a delay says why there is no plot', () => {
    const bare = { setting: 'live', detected: 0, missed: 0, findings: 0, upsets: { true: 0, false: 0, unjudged: 0 } };
    const page = backtestPage({ ...backtest, lines: [bare], faults: [], lanes: [] });
    expect(page).toContain('name known faults with --faults');
    expect(page).not.toMatch(/NaN|Infinity|undefined/);
  });
});

const report: UnitReportView = {
  unitName: 'Truck 1',
  unitKind: 'Heavy road vehicle',
  placeName: 'Depot',
  zone: 'UTC',
  fromMs: 0,
  toMs: 100 * DAY_MS,
  facts: [['Duty', 'long-haul road']],
  findings: [],
  tasks: [],
  work: [{ atMs: DAY_MS, found: 'nothing', done: 'air filter changed', note: 'clean' }],
  charts: [],
  map: { points: [] },
  indicators: [{ term: 'compressor pressure ratio', unit: '', absent: 'no boost sensor' }],
  spell: { days: 30, leastLoad: 0.4 },
};

describe('the report of a unit', () => {
  test('stands alone and says what is missing instead of leaving a gap', () => {
    const page = unitReportPage(report);
    expect(page).not.toMatch(OUTSIDE);
    for (const words of ['None in this time.', 'No operating points.', 'no boost sensor', 'air filter changed'])
      expect(page).toContain(words);
  });
});

describe('the operating map', () => {
  test('says how much lay inside what was learnt', () => {
    const points = [
      { speed: 0.5, load: 0.2 },
      { speed: 0.9, load: 0.9 },
    ];
    const { markup } = operatingMap({ points, envelope: { speed: [0.4, 0.95], load: [0.1, 0.5] } });
    expect(markup).toContain('2 operating points, 50.0 % of them inside what was learnt');
    expect(markup.match(/class="cell"/g)).toHaveLength(2 + 3);
    expect(markup).not.toMatch(/NaN|Infinity|undefined/);
  });
});
