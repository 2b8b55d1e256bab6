/** One reading of the memory of a process. */
export type MemoryReading = { readonly atS: number; readonly rssMiB: number };

/** Lowest, middle and highest of the readings of each quarter of the run. */
export function memoryQuarters(
  readings: readonly MemoryReading[],
): readonly { min: number; median: number; max: number }[] {
  const endS = readings.at(-1)?.atS ?? 0;
  return [0, 1, 2, 3].map((quarter) => {
    const part = readings.filter(({ atS }) => Math.min(3, Math.floor((4 * atS) / (endS || 1))) === quarter);
    const sorted = part.map(({ rssMiB }) => rssMiB).sort((a, b) => a - b);
    return { min: sorted[0] ?? 0, median: sorted[sorted.length >> 1] ?? 0, max: sorted.at(-1) ?? 0 };
  });
}

/** The memory over the run as an SVG drawing: seconds to the right, MiB upwards from zero. */
export function memorySvg(readings: readonly MemoryReading[], title: string): string {
  const [width, height, left, bottom] = [720, 300, 60, 40];
  const endS = Math.max(1, readings.at(-1)?.atS ?? 1);
  const topMiB = Math.ceil(Math.max(1, ...readings.map(({ rssMiB }) => rssMiB)) / 50) * 50;
  const x = (s: number) => (left + (s / endS) * (width - left - 20)).toFixed(1);
  const y = (mib: number) => (height - bottom - (mib / topMiB) * (height - bottom - 30)).toFixed(1);
  const grid = [0, 0.25, 0.5, 0.75, 1].map((part) => {
    const mib = topMiB * part;
    return `<path d="M${x(0)} ${y(mib)}H${x(endS)}" stroke="#ccc"/><text x="${left - 8}" y="${y(mib)}" text-anchor="end" dy="4">${Math.round(mib)}</text>`;
  });
  const line = readings.map(({ atS, rssMiB }) => `${x(atS)},${y(rssMiB)}`).join(' ');
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" font-family="sans-serif" font-size="12">
<rect width="100%" height="100%" fill="#fff"/><text x="${left}" y="18">${title}</text>
${grid.join('\n')}
<polyline points="${line}" fill="none" stroke="#0b5394" stroke-width="1.5"/>
<text x="${left}" y="${height - 12}">0 s</text><text x="${width - 20}" y="${height - 12}" text-anchor="end">${Math.round(endS)} s; resident memory of the receiving process, MiB</text>
</svg>
`;
}
