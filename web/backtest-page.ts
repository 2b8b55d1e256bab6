import { timeTicks, valueTicks } from './chart-scale.ts';
import { formatDay, formatNumber } from './format.ts';
import { type Html, html } from './html.ts';
import { standalonePage } from './standalone-page.ts';

/** What one setting did; figures that nothing is known of are left out. */
export type BacktestLine = {
  readonly setting: string;
  readonly detected: number;
  readonly missed: number;
  readonly medianDelayHours?: number;
  readonly medianDelayDays?: number;
  readonly findings: number;
  readonly upsets: { readonly true: number; readonly false: number; readonly unjudged: number };
  readonly falseRate?: { readonly estimate: number; readonly lower: number; readonly upper: number };
  readonly precision?: number;
};

/** One unit over time: what was truly wrong, and what each setting raised. */
export type BacktestLane = {
  readonly unitName: string;
  readonly faults: readonly { readonly fromMs: number; readonly toMs: number; readonly term: string }[];
  /** One a setting, in the order of the lines. */
  readonly settings: readonly {
    readonly learntMs?: number;
    readonly alarms: readonly {
      readonly fromMs: number;
      readonly toMs: number;
      readonly verdict: 'true' | 'false' | 'unjudged';
    }[];
  }[];
};

/** One known fault with what each setting made of it, in the order of the lines. */
export type BacktestFault = {
  readonly unitName: string;
  readonly term: string;
  readonly fromMs: number;
  readonly onset: 'stated' | 'estimated';
  readonly outcomes: readonly string[];
};

export type BacktestView = {
  readonly fleetName: string;
  readonly zone: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly units: number;
  readonly unitWeeks: number;
  /** What alarms were held against, as a sentence. */
  readonly truth: string;
  readonly lines: readonly BacktestLine[];
  readonly faults: readonly BacktestFault[];
  readonly lanes: readonly BacktestLane[];
};

const STYLE = `
.standalone .drawing.wide{display:block;max-width:none}
.point-label{font-weight:700}
.fault-bar{fill:var(--since);stroke:var(--control);stroke-width:1}
.learning-bar{fill:var(--rule)}
.alarm-bar.true{fill:var(--green)}.alarm-bar.false{fill:var(--red)}.alarm-bar.unjudged{fill:var(--yellow)}
.alarm-bar{stroke:var(--ink);stroke-width:.6}
.interval{stroke:var(--ink);stroke-width:1.4;fill:none}
.figures td{min-width:4.5rem}
.figures .setting{white-space:normal;min-width:12rem}
@media (max-width:40rem){.standalone .drawing.wide{min-width:42rem}.standalone .scroller table{min-width:44rem}}
@media print{.standalone footer{display:block}.standalone .drawing.wide{max-width:none}}
`;

/** The result of a back-test as a page that stands alone. */
export function backtestPage(view: BacktestView): string {
  const main = html`<h1>Back-test of ${view.fleetName}</h1>
<p class="lead">The live analysis run again over the samples of ${view.units} units from ${day(view.fromMs, view)} to ${day(view.toMs, view)}, ${formatNumber(view.unitWeeks)} healthy unit-weeks after learning. ${view.truth}</p>
<section><h2>Settings side by side</h2>${figures(view)}</section>
<section><h2>False findings against delay</h2>${tradeOff(view)}</section>
${view.faults.length > 0 && html`<section><h2>Known faults</h2>${faultTable(view)}</section>`}
<section><h2>Unit by unit</h2>${lanes(view)}</section>`;
  return standalonePage({ title: `Back-test of ${view.fleetName}`, zone: view.zone, style: STYLE, main });
}

function day(ms: number, view: BacktestView): string {
  return `${formatDay(ms, view.zone)} ${new Intl.DateTimeFormat('en-GB', { year: 'numeric', timeZone: view.zone }).format(ms)}`;
}

const known = (value: number | undefined, unit = '') => (value === undefined ? '–' : `${formatNumber(value)}${unit}`);

function figures(view: BacktestView): Html {
  return html`<div class="scroller" role="region" tabindex="0" aria-label="Settings side by side"><table class="figures">
<caption>An upset is all findings open at one time on a unit: one visit of the fitter. Rates are upsets per 100 units and week with their 90 % interval.</caption>
<thead><tr><th scope="col"></th><th scope="col">Setting</th><th scope="col">Detected</th><th scope="col">Median delay</th><th scope="col">False per 100 units and week</th><th scope="col">Upsets true / false / not looked into</th><th scope="col">Single findings</th><th scope="col">Precision</th></tr></thead>
<tbody>${view.lines.map(
    (
      line,
      index,
    ) => html`<tr><td>${index + 1}</td><th scope="row" class="setting">${line.setting}</th><td>${line.detected} of ${line.detected + line.missed}</td>
<td>${known(line.medianDelayHours, ' h')}${line.medianDelayDays !== undefined && html` running, ${known(line.medianDelayDays)} days`}</td>
<td>${line.falseRate === undefined ? '–' : `${formatNumber(line.falseRate.estimate)} (${formatNumber(line.falseRate.lower)} to ${formatNumber(line.falseRate.upper)})`}</td>
<td>${line.upsets.true} / ${line.upsets.false} / ${line.upsets.unjudged}</td><td>${line.findings}</td><td>${line.precision === undefined ? '–' : `${Math.round(100 * line.precision)} %`}</td></tr>`,
  )}</tbody></table></div>`;
}

const SIZE = { width: 980, left: 250, right: 24 };

/** Every setting as a point: how often it cries wolf, with its interval, against how late it is. */
function tradeOff(view: BacktestView): Html {
  const shown = view.lines.flatMap((line, index) =>
    line.falseRate === undefined || line.medianDelayHours === undefined
      ? []
      : [{ number: index + 1, rate: line.falseRate, delay: line.medianDelayHours }],
  );
  if (shown.length === 0)
    return html`<p>No setting has both a rate of false findings and a delay: name known faults with --faults, or close tasks with what was found.</p>`;
  const edge = { left: 60, right: 24, top: 16, bottom: 44 };
  const [width, height] = [SIZE.width, 320];
  const mostRate = Math.max(...shown.map(({ rate }) => rate.upper)) * 1.05;
  const mostDelay = Math.max(1, ...shown.map(({ delay }) => delay)) * 1.15;
  const x = (value: number) => round(edge.left + (value / mostRate) * (width - edge.left - edge.right));
  const y = (value: number) => round(height - edge.bottom - (value / mostDelay) * (height - edge.top - edge.bottom));
  const label = `Median delay in running hours against false upsets per 100 units and week: ${shown
    .map(({ number, rate, delay }) => `setting ${number} ${formatNumber(rate.estimate)}, ${formatNumber(delay)} h`)
    .join('; ')}.`;
  return html`<figure class="chart"><div class="scroller"><svg class="drawing wide" viewBox="0 0 ${width} ${height}" role="img" aria-label="${label}">
${valueTicks({ min: 0, max: mostDelay, most: 6 }).map((value) => html`<path class="grid" d="M${edge.left} ${y(value)}H${width - edge.right}"/><text class="tick" x="${edge.left - 7}" y="${y(value) + 4}" text-anchor="end">${formatNumber(value)}</text>`)}
${valueTicks({ min: 0, max: mostRate, most: 8 }).map((value) => html`<path class="grid" d="M${x(value)} ${height - edge.bottom}v5"/><text class="tick" x="${x(value)}" y="${height - edge.bottom + 19}" text-anchor="middle">${formatNumber(value)}</text>`)}
<text class="tick" x="${(edge.left + width - edge.right) / 2}" y="${height - 6}" text-anchor="middle">false upsets per 100 units and week, with 90 % interval</text>
<text class="tick" x="14" y="${(height - edge.bottom + edge.top) / 2}" text-anchor="middle" transform="rotate(-90 14 ${(height - edge.bottom + edge.top) / 2})">median delay, running hours</text>
<path class="axis" d="M${edge.left} ${edge.top}V${height - edge.bottom}H${width - edge.right}"/>
${shown.map(({ rate, delay }) => html`<path class="interval" d="M${x(rate.lower)} ${y(delay)}H${x(rate.upper)}M${x(rate.lower)} ${y(delay) - 4}v8M${x(rate.upper)} ${y(delay) - 4}v8"/><circle class="dot" cx="${x(rate.estimate)}" cy="${y(delay)}" r="4"/>`)}
${placedLabels(shown.map(({ number, rate, delay }) => ({ number, x: x(rate.estimate), y: y(delay) })))}
</svg></div><figcaption class="chart-words">${label}</figcaption></figure>`;
}

/** Numbers above their points; those of points that lie on one another stand side by side. */
function placedLabels(points: readonly { number: number; x: number; y: number }[]): Html[] {
  const groups: { x: number; y: number; numbers: number[] }[] = [];
  for (const point of points) {
    const near = groups.find((group) => Math.abs(group.x - point.x) < 12 && Math.abs(group.y - point.y) < 12);
    if (near === undefined) groups.push({ x: point.x, y: point.y, numbers: [point.number] });
    else near.numbers.push(point.number);
  }
  return groups.map(
    ({ x, y, numbers }) =>
      html`<text class="limit-label point-label" x="${x + 6}" y="${y - 7}">${numbers.join(', ')}</text>`,
  );
}

function faultTable(view: BacktestView): Html {
  return html`<div class="scroller" role="region" tabindex="0" aria-label="Known faults"><table class="figures">
<caption>Delay from the onset to the first alarm that the fault can have raised. An estimated onset is that of the finding which led to the repair.</caption>
<thead><tr><th scope="col">Unit</th><th scope="col">Fault</th><th scope="col">Onset</th>${view.lines.map((_, index) => html`<th scope="col">Setting ${index + 1}</th>`)}</tr></thead>
<tbody>${view.faults.map((fault) => html`<tr><th scope="row">${fault.unitName}</th><td>${fault.term}</td><td>${day(fault.fromMs, view)}${fault.onset === 'estimated' && ', estimated'}</td>${fault.outcomes.map((text) => html`<td>${text}</td>`)}</tr>`)}</tbody></table></div>`;
}

const ROW = 11;

/** A lane a unit: the known faults behind, and a row of alarms a setting before them. */
function lanes(view: BacktestView): Html {
  const told = view.lanes.filter(
    (lane) => lane.faults.length > 0 || lane.settings.some(({ alarms }) => alarms.length > 0),
  );
  const silent = view.lanes.length - told.length;
  if (told.length === 0) return html`<p>No setting raised anything on any unit, and no fault is known.</p>`;
  const laneHeight = ROW * view.lines.length + 16;
  const height = 34 + told.length * laneHeight;
  const right = SIZE.width - SIZE.right;
  const x = (ms: number) => round(SIZE.left + ((ms - view.fromMs) / (view.toMs - view.fromMs)) * (right - SIZE.left));
  const bar = (p: { fromMs: number; toMs: number }) => ({
    left: x(Math.max(p.fromMs, view.fromMs)),
    width: Math.max(1.5, round(x(Math.min(p.toMs, view.toMs)) - x(Math.max(p.fromMs, view.fromMs)))),
  });
  return html`<figure class="chart"><p class="key" aria-hidden="true">${KEY}</p>
<div class="scroller"><svg class="drawing wide" viewBox="0 0 ${SIZE.width} ${height}" role="img" aria-label="Known faults and alarms of ${told.length} units over time, one row a setting in the order of the table">
${timeTicks({ fromMs: view.fromMs, toMs: view.toMs, zone: view.zone, most: 9 }).map(({ atMs, label }) => html`<path class="grid" d="M${x(atMs)} 18V${height}"/><text class="tick" x="${x(atMs)}" y="12" text-anchor="middle">${label}</text>`)}
${told.map((lane, index) => {
  const top = 26 + index * laneHeight;
  return html`<path class="grid" d="M0 ${top - 4}H${right}"/><text x="0" y="${top + 12}">${lane.unitName}</text>
${lane.faults.map((fault) => html`<rect class="fault-bar" x="${bar(fault).left}" y="${top}" width="${bar(fault).width}" height="${laneHeight - 10}"><title>${fault.term}</title></rect>`)}
${lane.settings.map(
  (
    setting,
    row,
  ) => html`<text class="tick" x="${SIZE.left - 6}" y="${top + row * ROW + 11}" text-anchor="end" font-size="10">${row + 1}</text>
${setting.learntMs !== undefined && html`<rect class="learning-bar" x="${SIZE.left}" y="${top + row * ROW + 6}" width="${Math.max(0, round(x(setting.learntMs) - SIZE.left))}" height="2"/>`}
${setting.alarms.map((alarm) => html`<rect class="alarm-bar ${alarm.verdict}" x="${bar(alarm).left}" y="${top + row * ROW + (alarm.verdict === 'false' ? 2 : 3)}" width="${bar(alarm).width}" height="${alarm.verdict === 'false' ? 9 : 7}"/>`)}`,
)}`;
})}
</svg></div>${silent > 0 && html`<figcaption class="chart-words">${silent} units without a known fault, on which no setting raised anything, are not drawn.</figcaption>`}</figure>`;
}

const KEY = html`<span><svg class="key-mark" viewBox="0 0 28 14"><rect class="fault-bar" x="1" y="1" width="26" height="12"/></svg>known fault</span>
<span><svg class="key-mark" viewBox="0 0 28 14"><rect class="learning-bar" x="1" y="6" width="26" height="2"/></svg>learning</span>
<span><svg class="key-mark" viewBox="0 0 28 14"><rect class="alarm-bar true" x="1" y="3" width="26" height="7"/></svg>upset, true</span>
<span><svg class="key-mark" viewBox="0 0 28 14"><rect class="alarm-bar false" x="1" y="2" width="26" height="9"/></svg>upset, false (taller)</span>
<span><svg class="key-mark" viewBox="0 0 28 14"><rect class="alarm-bar unjudged" x="1" y="3" width="26" height="7"/></svg>upset nobody has looked into</span>`;

function round(value: number): number {
  return Math.round(value * 10) / 10;
}
