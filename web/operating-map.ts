import { valueTicks } from './chart-scale.ts';
import { formatNumber } from './format.ts';
import { type Html, html } from './html.ts';

/** Where an engine has run, and where it is known well enough to be judged. Shares of rated. */
export type OperatingMap = {
  readonly points: readonly { readonly speed: number; readonly load: number }[];
  /** Left out while nothing has been learnt. */
  readonly envelope?: { readonly speed: readonly [number, number]; readonly load: readonly [number, number] };
};

export const MAP_STYLE = `
.cell{fill:var(--band-edge)}
.envelope{fill:none;stroke:var(--ink);stroke-width:2;stroke-dasharray:7 4}
`;

const SIZE = { width: 640, height: 400 };
const EDGE = { left: 56, right: 16, top: 14, bottom: 46 };
const CELLS = { across: 44, up: 30 };
const FAINTEST = 0.14;

/** Load against speed as a map of how often the engine ran there, with the learnt envelope. */
export function operatingMap(map: OperatingMap): Html {
  if (map.points.length === 0) return html`<p>No operating points.</p>`;
  const { envelope, points } = map;
  const most = (read: (point: { speed: number; load: number }) => number, edge: number | undefined) =>
    Math.max(1, edge ?? 0, ...points.map(read)) * 1.04;
  const mostSpeed = points.reduce(
    (max, { speed }) => Math.max(max, speed),
    most(() => 0, envelope?.speed[1]),
  );
  const mostLoad = points.reduce(
    (max, { load }) => Math.max(max, load),
    most(() => 0, envelope?.load[1]),
  );
  const right = SIZE.width - EDGE.right;
  const bottom = SIZE.height - EDGE.bottom;
  const x = (speed: number) => round(EDGE.left + (speed / mostSpeed) * (right - EDGE.left));
  const y = (load: number) => round(bottom - (Math.max(0, load) / mostLoad) * (bottom - EDGE.top));
  const label = describe(map);
  return html`<figure class="chart"><svg class="drawing wide map" viewBox="0 0 ${SIZE.width} ${SIZE.height}" role="img" aria-label="${label}">
${valueTicks({ min: 0, max: 100 * mostLoad, most: 6 }).map((value) => html`<path class="grid" d="M${EDGE.left} ${y(value / 100)}H${right}"/><text class="tick" x="${EDGE.left - 7}" y="${y(value / 100) + 4}" text-anchor="end">${value.toFixed(0)}</text>`)}
${valueTicks({ min: 0, max: 100 * mostSpeed, most: 8 }).map((value) => html`<path class="grid" d="M${x(value / 100)} ${bottom}v5"/><text class="tick" x="${x(value / 100)}" y="${bottom + 19}" text-anchor="middle">${value.toFixed(0)}</text>`)}
${cellsOf(map, { mostSpeed, mostLoad }).map(({ speed, load, share }) => html`<rect class="cell" x="${x(speed)}" y="${y(load + mostLoad / CELLS.up)}" width="${round((right - EDGE.left) / CELLS.across)}" height="${round((bottom - EDGE.top) / CELLS.up)}" opacity="${share}"/>`)}
${envelope !== undefined && html`<rect class="envelope" x="${x(envelope.speed[0])}" y="${y(envelope.load[1])}" width="${round(x(envelope.speed[1]) - x(envelope.speed[0]))}" height="${round(y(envelope.load[0]) - y(envelope.load[1]))}"/>`}
<path class="axis" d="M${EDGE.left} ${EDGE.top}V${bottom}H${right}"/>
<text class="tick" x="${(EDGE.left + right) / 2}" y="${SIZE.height - 6}" text-anchor="middle">speed, % of rated</text>
<text class="tick" x="14" y="${(EDGE.top + bottom) / 2}" text-anchor="middle" transform="rotate(-90 14 ${(EDGE.top + bottom) / 2})">load, % of rated</text>
</svg>
<p class="key" aria-hidden="true"><span><svg class="key-mark" viewBox="0 0 28 14"><rect class="cell" x="1" y="1" width="9" height="12" opacity="${FAINTEST}"/><rect class="cell" x="10" y="1" width="9" height="12" opacity="0.5"/><rect class="cell" x="19" y="1" width="8" height="12"/></svg>seldom to often</span>${envelope !== undefined && html`<span><svg class="key-mark" viewBox="0 0 28 14"><rect class="envelope" x="2" y="2" width="24" height="10"/></svg>learnt: judged inside</span>`}</p>
<figcaption class="chart-words">${label}</figcaption></figure>`;
}

function describe({ envelope, points }: OperatingMap): string {
  if (envelope === undefined) return `${points.length} operating points; nothing has been learnt yet.`;
  const inside = points.filter(
    ({ load, speed }) =>
      load >= envelope.load[0] && load <= envelope.load[1] && speed >= envelope.speed[0] && speed <= envelope.speed[1],
  ).length;
  const percent = ([low, high]: readonly [number, number]) =>
    `${(100 * low).toFixed(0)} to ${(100 * high).toFixed(0)} %`;
  return `${points.length} operating points, ${formatNumber((100 * inside) / points.length)} % of them inside what was learnt: ${percent(envelope.speed)} of rated speed, ${percent(envelope.load)} of rated load.`;
}

/** Cells with at least one point; the logarithm of the count is the strength, or idling would drown all else. */
function cellsOf(map: OperatingMap, p: { mostSpeed: number; mostLoad: number }) {
  const counts = new Map<string, { column: number; row: number; count: number }>();
  for (const { load, speed } of map.points) {
    const column = Math.min(CELLS.across - 1, Math.floor((speed / p.mostSpeed) * CELLS.across));
    const row = Math.min(CELLS.up - 1, Math.floor((Math.max(0, load) / p.mostLoad) * CELLS.up));
    const cell = counts.get(`${column}/${row}`) ?? { column, row, count: 0 };
    cell.count += 1;
    counts.set(`${column}/${row}`, cell);
  }
  const cells = [...counts.values()];
  const most = Math.log(1 + Math.max(...cells.map(({ count }) => count)));
  return cells.map(({ column, row, count }) => ({
    speed: (column * p.mostSpeed) / CELLS.across,
    load: (row * p.mostLoad) / CELLS.up,
    share: Number((FAINTEST + ((1 - FAINTEST) * Math.log(1 + count)) / most).toFixed(2)),
  }));
}

function round(value: number): number {
  return Math.round(value * 10) / 10;
}
