import { once } from 'node:events';
import { createWriteStream, writeFileSync } from 'node:fs';
import type { SIGNAL_KEYS } from '../schemas/signals.ts';

// Invented readings for measuring speed only; their form, not their value, is what matters.
const KEYS = [
  'engineSpeed',
  'engineLoad',
  'boostPressure',
  'intakeManifoldTemperature',
  'compressorInletTemperature',
  'compressorOutletTemperature',
  'exhaustTemperature',
  'turbineOutletTemperature',
  'turbochargerSpeed',
  'oilPressure',
  'oilTemperature',
  'coolantTemperature',
  'barometricPressure',
  'ambientAirTemperature',
  'fuelRate',
  'airFilterDifferentialPressure',
  'vehicleSpeed',
] as const satisfies readonly (typeof SIGNAL_KEYS)[number][];

const START_MS = Date.UTC(2024, 0, 1);

/** Columns of the table: the time and 17 signals. */
export const BENCH_KEYS = KEYS;

/** Writes a wide CSV table of one reading a second, 18 columns. */
export async function writeBenchCsv(path: string, rows: number): Promise<void> {
  const out = createWriteStream(path);
  out.write(`time,${KEYS.join(',')}\n`);
  const wave = (i: number, period: number) => Math.sin((i * 2 * Math.PI) / period);
  for (let from = 0; from < rows; from += 5000) {
    const lines: string[] = [];
    for (let i = from; i < Math.min(rows, from + 5000); i += 1) {
      const load = 50 + 40 * wave(i, 613);
      lines.push(
        [
          new Date(START_MS + i * 1000).toISOString(),
          (1200 + 4 * load + wave(i, 7)).toFixed(1),
          load.toFixed(1),
          (load * 1.8).toFixed(2),
          (42 + load / 5).toFixed(2),
          (20 + wave(i, 86_400) * 8).toFixed(2),
          (90 + load).toFixed(2),
          (280 + load * 2.4).toFixed(1),
          (240 + load * 1.6).toFixed(1),
          (30_000 + load * 700).toFixed(0),
          (220 + load * 2).toFixed(1),
          (88 + load / 20).toFixed(2),
          (84 + load / 40).toFixed(2),
          (99 + wave(i, 50_000)).toFixed(2),
          (18 + wave(i, 86_400) * 8).toFixed(2),
          (4 + load / 2).toFixed(2),
          (0.5 + load / 40).toFixed(3),
          (60 + wave(i, 900) * 20).toFixed(2),
        ].join(','),
      );
    }
    if (!out.write(`${lines.join('\n')}\n`)) await once(out, 'drain');
  }
  out.end();
  await once(out, 'finish');
}

/** Writes a bus log of the compact form: the frames of a real one again and again, their times running on. */
export function writeBenchBusLog(path: string, p: { text: string; frames: number }): void {
  const lines = p.text.split('\n').filter((line) => /^\(\d/.test(line) && line.includes('#'));
  const pieces: string[] = [];
  for (let i = 0; i < p.frames; i += 1) {
    const line = lines[i % lines.length] ?? '';
    const time = (START_MS / 1000 + i * 0.0005).toFixed(6);
    pieces.push(`(${time})${line.slice(line.indexOf(')') + 1)}`);
  }
  writeFileSync(path, `${pieces.join('\n')}\n`);
}
