import type { Severity } from '../schemas/finding.ts';
import type { TaskState } from '../schemas/task.ts';
import { type ChartData, chartFigure } from './chart.ts';
import { formatDay, formatNumber, formatPercent, formatTime } from './format.ts';
import { type Html, html } from './html.ts';
import { conditionMark, stateWord } from './marks.ts';
import { MAP_STYLE, type OperatingMap, operatingMap } from './operating-map.ts';
import { standalonePage } from './standalone-page.ts';

/** A quantity over some weeks: its median, and the median standard uncertainty of one point. */
export type IndicatorSpell = { readonly median: number; readonly standardUncertainty: number; readonly points: number };

/** One line of the table of indicators. */
export type IndicatorLine = {
  readonly term: string;
  readonly unit: string;
  readonly early?: IndicatorSpell;
  readonly late?: IndicatorSpell;
  /** Why there is no value, where there never was one. */
  readonly absent?: string;
};

export type ReportFinding = {
  readonly term: string;
  readonly severity: Severity;
  readonly sinceMs: number;
  readonly clearedMs?: number;
  readonly sentence: string;
  readonly cause?: { readonly term: string; readonly probability: number };
};

/** Everything that the report of a unit shows. */
export type UnitReportView = {
  readonly unitName: string;
  readonly unitKind: string;
  readonly placeName: string;
  readonly zone: string;
  readonly fromMs: number;
  readonly toMs: number;
  /** Facts about the engine and about how well it is known, as pairs of words. */
  readonly facts: readonly (readonly [string, string])[];
  readonly findings: readonly ReportFinding[];
  readonly tasks: readonly { readonly title: string; readonly state: TaskState; readonly openedMs: number }[];
  readonly work: readonly {
    readonly atMs: number;
    readonly found: string;
    readonly done: string;
    readonly note: string;
  }[];
  readonly charts: readonly ChartData[];
  readonly map: OperatingMap;
  readonly indicators: readonly IndicatorLine[];
  /** Length of the two spells that are set beside each other, and the load from which points count, share of rated. */
  readonly spell: { readonly days: number; readonly leastLoad: number };
};

const STYLE = `
${MAP_STYLE}
.charts{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(34rem,100%),1fr));gap:1.5rem 2rem}
.charts .chart{margin-top:0}
.pairs{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(15rem,100%),1fr));gap:.35rem 2rem;margin:1rem 0 0}
.pairs div{border-bottom:1px solid var(--rule);padding:.25rem 0}
.pairs dt{color:var(--muted);font-size:.92rem}
.pairs dd{margin:0;font-weight:600}
.map{max-width:44rem}
.standalone .drawing.map{display:block}
@media (max-width:40rem){.standalone .scroller table{min-width:44rem}.standalone .values table{min-width:26rem}}
@media print{
.standalone footer{display:block}
.charts{grid-template-columns:1fr 1fr;gap:6mm}
.charts .drawing.wide{display:none!important}.charts .drawing.narrow{display:block!important}
.standalone .drawing.wide{max-width:none}
.standalone .drawing.map{max-width:130mm}
.standalone table{font-size:9pt}
.standalone tr,.pairs div{break-inside:avoid}
}
`;

/** The report of one unit as a page that stands alone. */
export function unitReportPage(view: UnitReportView): string {
  const main = html`<h1>${view.unitName}</h1>
<p class="lead">${view.unitKind}, ${view.placeName}. Report of ${day(view.fromMs, view)} to ${day(view.toMs, view)}.</p>
<dl class="pairs">${view.facts.map(([name, value]) => html`<div><dt>${name}</dt><dd>${value}</dd></div>`)}</dl>
<section><h2>Findings</h2>${findingTable(view)}</section>
<section><h2>Tasks and maintenance</h2>${workTable(view)}</section>
<section><h2>Channels against expectation</h2>
<p class="quiet">Each column is the median of its points. Where the load sways a channel more than it departs, its departure from the expectation is drawn.</p>
<div class="charts">${view.charts.map((chart) => chartFigure(chart))}</div></section>
<section><h2>Where it ran</h2>${operatingMap(view.map)}</section>
<section><h2>Indicators</h2>${indicatorTable(view)}</section>`;
  return standalonePage({ title: `${view.unitName}: report`, zone: view.zone, style: STYLE, main });
}

function day(ms: number, view: UnitReportView): string {
  return `${formatDay(ms, view.zone)} ${new Intl.DateTimeFormat('en-GB', { year: 'numeric', timeZone: view.zone }).format(ms)}`;
}

function findingTable(view: UnitReportView): Html {
  if (view.findings.length === 0) return html`<p>None in this time.</p>`;
  return html`<div class="scroller" role="region" tabindex="0" aria-label="Findings"><table>
<thead><tr><th scope="col">Finding</th><th scope="col">Severity</th><th scope="col">Since about</th><th scope="col">Cleared</th><th scope="col">Most likely cause</th><th scope="col">What shows it</th></tr></thead>
<tbody>${view.findings.map(
    (finding) =>
      html`<tr><th scope="row">${finding.term}</th><td>${conditionMark(finding.severity)}</td><td>${day(finding.sinceMs, view)}</td><td>${finding.clearedMs === undefined ? 'open' : day(finding.clearedMs, view)}</td><td>${finding.cause === undefined ? '–' : `${finding.cause.term} (${formatPercent(finding.cause.probability)})`}</td><td>${finding.sentence}</td></tr>`,
  )}</tbody></table></div>`;
}

function workTable(view: UnitReportView): Html {
  if (view.tasks.length === 0 && view.work.length === 0) return html`<p>None in this time.</p>`;
  return html`<div class="scroller" role="region" tabindex="0" aria-label="Tasks and maintenance"><table>
<thead><tr><th scope="col">When</th><th scope="col">What</th><th scope="col">State or outcome</th></tr></thead>
<tbody>${view.tasks.map(({ openedMs, state, title }) => html`<tr><td>${formatTime(openedMs, view.zone)}</td><th scope="row">Task: ${title}</th><td>${stateWord(state)}</td></tr>`)}
${view.work.map(({ atMs, done, found, note }) => html`<tr><td>${formatTime(atMs, view.zone)}</td><th scope="row">Work: ${done}</th><td>Found: ${found}${note !== '' && html`. ${note}`}</td></tr>`)}</tbody></table></div>`;
}

function indicatorTable(view: UnitReportView): Html {
  const { days, leastLoad } = view.spell;
  const spell = (value: IndicatorSpell | undefined) =>
    value === undefined ? '–' : `${formatNumber(value.median)} ± ${formatNumber(value.standardUncertainty)}`;
  return html`<div class="scroller" role="region" tabindex="0" aria-label="Indicators"><table>
<caption>Median of the points at ${(100 * leastLoad).toFixed(0)} % of rated load or more, ± standard uncertainty of one point (JCGM 100).</caption>
<thead><tr><th scope="col">Indicator</th><th scope="col">Unit</th><th scope="col">First ${days} days</th><th scope="col">Last ${days} days</th><th scope="col">Points</th></tr></thead>
<tbody>${view.indicators.map(
    (line) =>
      html`<tr><th scope="row">${line.term}</th><td>${line.unit}</td>${
        line.absent === undefined
          ? html`<td>${spell(line.early)}</td><td>${spell(line.late)}</td><td>${line.early?.points ?? 0} and ${line.late?.points ?? 0}</td>`
          : html`<td colspan="3">${line.absent}</td>`
      }</tr>`,
  )}</tbody></table></div>`;
}
