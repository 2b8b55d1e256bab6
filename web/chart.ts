import { timeTicks, valueTicks } from './chart-scale.ts';
import { capital, formatDay, formatNumber, formatShortTime } from './format.ts';
import { type Html, html } from './html.ts';

/** One column of a series: extremes and mean of what was observed, and what was expected where that is known. */
export type ChartPoint = {
  readonly fromMs: number;
  readonly toMs: number;
  readonly count: number;
  readonly min: number;
  readonly max: number;
  readonly mean: number;
  readonly expected?: number;
  readonly sd?: number;
};

/** A moment worth a line: the onset of a departure, its report, work done. */
export type ChartMark = { readonly atMs: number; readonly label: string; readonly kind: 'onset' | 'report' | 'work' };

/** What a chart shows. */
export type ChartData = {
  readonly id: string;
  readonly term: string;
  readonly unit: string;
  readonly zone: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly points: readonly ChartPoint[];
  readonly marks: readonly ChartMark[];
  readonly limit?: { readonly value: number; readonly label: string };
};

/** Half width of the band in standard deviations; 95 % of healthy points fall inside when departures are normal. */
export const BAND_SDS = 2;

type Size = { readonly width: number; readonly height: number; readonly className: string };
// Two drawings, so that the lettering keeps its size on a telephone.
const SIZES: readonly Size[] = [
  { width: 640, height: 270, className: 'wide' },
  { width: 344, height: 218, className: 'narrow' },
];
const EDGE = { left: 50, right: 12, top: 36, bottom: 26 };

/** A drawing of a series against its expected band, with a sentence, a key and a table that say the same. */
export function chartFigure(data: ChartData): Html {
  const label = describeChart(data);
  const drawn = new Set(
    data.points.some(({ expected }) => expected !== undefined) ? ['observed', 'band'] : ['observed'],
  );
  return html`<figure class="chart">
<figcaption><span class="chart-title">${data.term}${data.unit === '' ? '' : `, ${data.unit}`}</span></figcaption>
${SIZES.map((size) => drawing(data, size, label))}
<p class="key" aria-hidden="true">
${drawn.has('observed') && html`<span><svg class="key-mark" viewBox="0 0 28 14"><path class="observed" d="M2 7H26"/><circle class="dot" cx="14" cy="7" r="3"/></svg>observed</span>`}
${drawn.has('band') && html`<span><svg class="key-mark" viewBox="0 0 28 14"><rect class="band" x="2" y="1" width="24" height="12"/><path class="expected" d="M2 7H26"/></svg>expected ±${BAND_SDS} sd</span>`}
${drawn.has('band') && html`<span><svg class="key-mark" viewBox="0 0 28 14"><path class="outlier" d="M14 1.5l5.5 5.5-5.5 5.5-5.5-5.5z"/></svg>outside it</span>`}
${data.limit !== undefined && html`<span><svg class="key-mark" viewBox="0 0 28 14"><path class="limit" d="M2 7H26"/></svg>limit</span>`}
</p>
<p class="chart-words">${label}</p>
${chartTable(data)}
</figure>`;
}

function range(data: ChartData): { min: number; max: number; limitShown: boolean } {
  const values = data.points.flatMap(({ min, max, expected, sd }) =>
    expected === undefined || sd === undefined
      ? [min, max]
      : [min, max, expected - BAND_SDS * sd, expected + BAND_SDS * sd],
  );
  const low = Math.min(...values);
  const high = Math.max(...values);
  const spread = Math.max(high - low, Math.abs(high) * 0.02, 1e-6);
  const limit = data.limit?.value;
  // A limit far off would flatten the departure that the chart is there to show; the words still give it.
  const limitShown = limit !== undefined && limit > low - spread && limit < high + spread;
  const min = limitShown ? Math.min(low, limit) : low;
  const max = limitShown ? Math.max(high, limit) : high;
  const pad = Math.max(max - min, spread) * 0.08;
  return { min: min - pad, max: max + pad, limitShown };
}

function drawing(data: ChartData, size: Size, label: string): Html {
  if (data.points.length === 0) return html``;
  const { min, max, limitShown } = range(data);
  const right = size.width - EDGE.right;
  const bottom = size.height - EDGE.bottom;
  const x = (ms: number) => round(EDGE.left + ((ms - data.fromMs) / (data.toMs - data.fromMs)) * (right - EDGE.left));
  const y = (value: number) => round(bottom - ((value - min) / (max - min)) * (bottom - EDGE.top));
  const centre = (point: ChartPoint) => x((point.fromMs + point.toMs) / 2);
  const runs = splitAtGaps(data);
  const onset = data.marks.find(({ kind }) => kind === 'onset');
  return html`<svg class="drawing ${size.className}" viewBox="0 0 ${size.width} ${size.height}" role="img" aria-label="${label}">
${onset !== undefined && onset.atMs > data.fromMs && html`<rect class="since" x="${x(onset.atMs)}" y="${EDGE.top}" width="${round(right - x(onset.atMs))}" height="${bottom - EDGE.top}"/>`}
${valueTicks({ min, max, most: 6 }).map((value) => html`<path class="grid" d="M${EDGE.left} ${y(value)}H${right}"/><text class="tick" x="${EDGE.left - 7}" y="${y(value) + 4}" text-anchor="end">${tickLabel(value, max - min)}</text>`)}
${timeTicks({ fromMs: data.fromMs, toMs: data.toMs, zone: data.zone, most: Math.floor((right - EDGE.left) / 56) }).map(({ atMs, label: text }) => html`<path class="grid" d="M${x(atMs)} ${bottom}v5"/><text class="tick" x="${x(atMs)}" y="${bottom + 19}" text-anchor="middle">${text}</text>`)}
${runs.map((run) => bandOf(run, { centre, y }))}
${runs.map(
  (run) =>
    html`<path class="spread" d="${run
      .filter(({ count }) => count > 1)
      .map((point) => `M${centre(point)} ${y(point.min)}V${y(point.max)}`)
      .join('')}"/>`,
)}
${runs.map((run) => html`<path class="observed" d="${run.map((point, index) => `${index === 0 ? 'M' : 'L'}${centre(point)} ${y(point.mean)}`).join('')}"/>`)}
${data.points.map((point) => pointMark(point, { x: centre(point), y: y(point.mean) }))}
${limitShown && data.limit !== undefined && html`<path class="limit" d="M${EDGE.left} ${y(data.limit.value)}H${right}"/><text class="limit-label" x="${EDGE.left + 5}" y="${y(data.limit.value) - 5}">${data.limit.label}</text>`}
<path class="axis" d="M${EDGE.left} ${EDGE.top}V${bottom}H${right}"/>
${markLines({ data, x, right, bottom })}
</svg>`;
}

function splitAtGaps(data: ChartData): ChartPoint[][] {
  const widest = (data.toMs - data.fromMs) / 16;
  const runs: ChartPoint[][] = [];
  for (const point of data.points) {
    const last = runs.at(-1)?.at(-1);
    if (last === undefined || point.fromMs - last.toMs > widest) runs.push([point]);
    else runs.at(-1)?.push(point);
  }
  return runs;
}

type Place = { readonly centre: (point: ChartPoint) => number; readonly y: (value: number) => number };

function bandOf(run: readonly ChartPoint[], { centre, y }: Place): Html {
  const known = run.flatMap((point) =>
    point.expected === undefined || point.sd === undefined
      ? []
      : [{ x: centre(point), expected: point.expected, half: BAND_SDS * point.sd }],
  );
  if (known.length === 0) return html``;
  const only = known.length === 1 ? known[0] : undefined;
  if (only !== undefined) {
    return html`<path class="band-edge" d="M${only.x} ${y(only.expected - only.half)}V${y(only.expected + only.half)}"/>`;
  }
  const upper = known.map((at) => `${at.x} ${y(at.expected + at.half)}`);
  const lower = known.map((at) => `${at.x} ${y(at.expected - at.half)}`).reverse();
  return html`<path class="band" d="M${[...upper, ...lower].join('L')}Z"/><path class="expected" d="M${known.map((at) => `${at.x} ${y(at.expected)}`).join('L')}"/>`;
}

function pointMark(point: ChartPoint, at: { x: number; y: number }): Html {
  return isOutside(point)
    ? html`<path class="outlier" d="M${at.x} ${round(at.y - 4.5)}l4.5 4.5-4.5 4.5-4.5-4.5z"/>`
    : html`<circle class="dot" cx="${at.x}" cy="${at.y}" r="2.4"/>`;
}

function isOutside({ mean, expected, sd }: ChartPoint): boolean {
  return expected !== undefined && sd !== undefined && Math.abs(mean - expected) > BAND_SDS * sd;
}

function markLines(p: { data: ChartData; x: (ms: number) => number; right: number; bottom: number }): Html[] {
  const ends = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const shown = [...p.data.marks]
    .filter(({ atMs }) => atMs >= p.data.fromMs && atMs <= p.data.toMs)
    .sort((a, b) => a.atMs - b.atMs);
  return shown.map(({ atMs, label, kind }) => {
    const at = p.x(atMs);
    const width = label.length * 6.6 + 8;
    const left = Math.min(at, p.right - width + 4);
    // Two rows above the plot: a label goes to the second row when it would cover the one before it.
    const row = left >= (ends[0] ?? 0) ? 0 : 1;
    ends[row] = left + width;
    const textY = 12 + row * 15;
    return html`<path class="mark ${kind}" d="M${at} ${textY + 3}V${p.bottom}"/><text class="mark-label" x="${round(left)}" y="${textY}">${label}</text>`;
  });
}

function tickLabel(value: number, span: number): string {
  const decimals = span >= 20 ? 0 : span >= 2 ? 1 : span >= 0.2 ? 2 : 3;
  const text = value.toFixed(decimals).replace('-', '−');
  return decimals > 0 && Number(value.toFixed(decimals - 1)) === Number(value.toFixed(decimals)) && span >= 2
    ? value.toFixed(decimals - 1).replace('-', '−')
    : text;
}

function round(value: number): number {
  return Math.round(value * 10) / 10;
}

/** What the drawing shows, as one sentence for those who do not see it. */
export function describeChart(data: ChartData): string {
  const last = data.points.at(-1);
  const of = `${data.term} from ${formatDay(data.fromMs, data.zone)} to ${formatDay(data.toMs, data.zone)}`;
  if (last === undefined) return `${of}: no operating points.`;
  const unit = data.unit === '' ? '' : ` ${data.unit}`;
  const against =
    last.expected === undefined
      ? 'without an expectation'
      : `against ${formatNumber(last.expected)}${unit} expected${last.sd === undefined ? '' : ` (±${formatNumber(BAND_SDS * last.sd)})`}`;
  const onset = data.marks.find(({ kind }) => kind === 'onset');
  return [
    `${of}. Last ${formatNumber(last.mean)}${unit} ${against}.`,
    ...(onset === undefined ? [] : [`Departs since about ${formatShortTime(onset.atMs, data.zone)}.`]),
    ...(data.limit === undefined ? [] : [`${capital(data.limit.label)}.`]),
  ].join(' ');
}

const TABLE_ROWS_MAX = 24;

function chartTable(data: ChartData): Html {
  if (data.points.length === 0) return html``;
  const every = Math.ceil(data.points.length / TABLE_ROWS_MAX);
  const rows = data.points.filter((_, index) => (data.points.length - 1 - index) % every === 0);
  return html`<details class="values"><summary>Values as a table</summary>
<div class="scroller" role="region" tabindex="0" aria-label="Values of ${data.term}"><table>
<caption>${data.term}${data.unit === '' ? '' : `, ${data.unit}`}; times in ${data.zone}${every > 1 ? `; every ${every}. column of the chart` : ''}</caption>
<thead><tr><th scope="col">Time</th><th scope="col">Observed</th><th scope="col">Expected</th><th scope="col">±${BAND_SDS} sd</th><th scope="col">Outside</th></tr></thead>
<tbody>${rows.map((point) => html`<tr><th scope="row">${formatShortTime(point.toMs, data.zone)}</th><td>${formatNumber(point.mean)}</td><td>${point.expected === undefined ? '–' : formatNumber(point.expected)}</td><td>${point.sd === undefined ? '–' : formatNumber(BAND_SDS * point.sd)}</td><td>${isOutside(point) ? 'yes' : point.expected === undefined ? '–' : 'no'}</td></tr>`)}</tbody>
</table></div></details>`;
}
