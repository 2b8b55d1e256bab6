import { describe, expect, test } from 'vitest';
import { type ChartData, chartFigure, describeChart } from './chart.ts';
import { timeTicks, valueTicks } from './chart-scale.ts';
import { formatDistance, formatNumber, formatPercent, formatTime, zoneAheadMs } from './format.ts';
import { escapeText, html } from './html.ts';

const HOUR_MS = 3_600_000;
const START_MS = Date.UTC(2026, 10, 9);

describe('escaping', () => {
  // The five characters: OWASP cross-site scripting prevention, output encoding for HTML contexts.
  test('text cannot become markup', () => {
    expect(html`<p title="${'"><script>'}">${"<b> & 'x'"}</p>`.markup).toBe(
      '<p title="&quot;&gt;&lt;script&gt;">&lt;b&gt; &amp; &#39;x&#39;</p>',
    );
    expect(escapeText('<')).toBe('&lt;');
  });
  test('markup, lists and what is left out', () => {
    expect(html`${[html`<i>${1}</i>`, false, undefined, 'a']}`.markup).toBe('<i>1</i>a');
  });
});

describe('axes', () => {
  test('values are marked at round numbers', () => {
    expect(valueTicks({ min: 131, max: 168, most: 5 })).toEqual([140, 150, 160]);
    expect(valueTicks({ min: 0.71, max: 0.86, most: 4 }).map((tick) => tick.toFixed(2))).toEqual([
      '0.75',
      '0.80',
      '0.85',
    ]);
  });
  test('days are marked at midnight of the zone, across a change of its clock', () => {
    // Athens leaves summer time on Sunday 25 October 2026 at 04:00 EEST (European Union directive 2000/84/EC).
    const ticks = timeTicks({
      fromMs: Date.UTC(2026, 9, 24),
      toMs: Date.UTC(2026, 9, 27),
      zone: 'Europe/Athens',
      most: 4,
    });
    expect(ticks.map(({ atMs }) => new Date(atMs).toISOString())).toEqual([
      '2026-10-24T21:00:00.000Z',
      '2026-10-25T22:00:00.000Z',
      '2026-10-26T22:00:00.000Z',
    ]);
    expect(ticks[0]?.label).toBe('25 Oct');
  });
  test('a zone is ahead by its offset', () => {
    expect(zoneAheadMs(Date.UTC(2026, 6, 1), 'Asia/Kathmandu')).toBe(5.75 * HOUR_MS);
  });
});

describe('words', () => {
  test('times name their zone', () => {
    expect(formatTime(Date.UTC(2026, 10, 25, 8, 42), 'UTC')).toBe('Wed, 25 Nov 2026, 08:42 UTC');
  });
  test('no probability reads as certainty', () => {
    expect([0.001, 0.55, 0.999].map(formatPercent)).toEqual(['under 1\u00a0%', '55\u00a0%', 'over 99\u00a0%']);
  });
  test('numbers keep three figures and a true minus', () => {
    expect([-14.26, 0.8234, 512.4].map(formatNumber)).toEqual(['−14.3', '0.823', '512']);
  });
  test('distances say before or after', () => {
    expect(formatDistance(0, 3 * HOUR_MS)).toBe('3 h ago');
    expect(formatDistance(90 * HOUR_MS, 0)).toBe('in 4 days');
  });
});

const chart: ChartData = {
  id: 'c',
  term: 'Boost',
  unit: 'kPa',
  zone: 'UTC',
  fromMs: START_MS,
  toMs: START_MS + 48 * HOUR_MS,
  points: [
    { fromMs: START_MS, toMs: START_MS + HOUR_MS, count: 3, min: 149, max: 153, mean: 151, expected: 152, sd: 3 },
    {
      fromMs: START_MS + HOUR_MS,
      toMs: START_MS + 2 * HOUR_MS,
      count: 1,
      min: 138,
      max: 138,
      mean: 138,
      expected: 152,
      sd: 3,
    },
    { fromMs: START_MS + 40 * HOUR_MS, toMs: START_MS + 41 * HOUR_MS, count: 1, min: 150, max: 150, mean: 150 },
  ],
  marks: [{ atMs: START_MS + HOUR_MS, label: 'onset', kind: 'onset' }],
};

describe('chart', () => {
  test('the line breaks where the engine stood, and a point outside the band has its own form', () => {
    const [wide = ''] = /<svg class="drawing wide".*?<\/svg>/s.exec(chartFigure(chart).markup) ?? [];
    expect(wide.match(/<path class="observed"/g)).toHaveLength(2);
    expect(wide.match(/class="outlier"/g)).toHaveLength(1);
    expect(wide).not.toContain('NaN');
  });
  test('says in words what it shows', () => {
    expect(describeChart(chart)).toBe(
      'Boost from 9 Nov to 11 Nov. Last 150 kPa without an expectation. Departs since about Mon 9 Nov, 01:00.',
    );
  });
  test('a far limit is said but not drawn; a near one is drawn', () => {
    const drawn = (value: number) =>
      chartFigure({ ...chart, limit: { value, label: 'limit' } }).markup.includes('class="limit-label"');
    expect(drawn(165)).toBe(true);
    expect(drawn(400)).toBe(false);
  });
  test('nothing observed gives words, no drawing', () => {
    const empty = chartFigure({ ...chart, points: [] }).markup;
    expect(empty).not.toContain('class="drawing');
    expect(empty).toContain('no operating points');
  });
});
