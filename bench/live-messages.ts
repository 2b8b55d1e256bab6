// Invented readings for measuring speed only; their form, not their value, is what matters.
const START_MS = Date.UTC(2026, 0, 1);
/** The signals of every message. */
export const SOAK_KEYS = [
  'engineSpeed',
  'engineLoad',
  'boostPressure',
  'intakeManifoldTemperature',
  'compressorOutletTemperature',
  'exhaustTemperature',
  'turbochargerSpeed',
  'oilPressure',
  'oilTemperature',
  'coolantTemperature',
  'barometricPressure',
  'ambientAirTemperature',
  'fuelRate',
] as const;

/** Columns of a message; a few of them serve all, since it is their form that costs. */
export function columnsOf(rows: number): string[] {
  return Array.from({ length: 16 }, (_, shift) => {
    const wave = (i: number, period: number) => Math.sin(((i + shift * 31) * 2 * Math.PI) / period);
    const columns = SOAK_KEYS.map((key, k) => {
      const base = key === 'barometricPressure' ? 100 : 40 + k;
      return `"${key}":[${Array.from({ length: rows }, (_, i) => (base + 5 * wave(i, 100 + 7 * k)).toFixed(2)).join(',')}]`;
    });
    return `{${columns.join(',')}}`;
  });
}

/** A message of a run of samples, one a second. */
export function messageOf(p: { unit: string; fromS: number; rows: number; columns: string }): string {
  const t = Array.from({ length: p.rows }, (_, i) => START_MS + (p.fromS + i) * 1000);
  return `{"version":1,"unit":"${p.unit}","samples":{"t":[${t.join(',')}],"signals":${p.columns}}}`;
}
