import { chiSquaredQuantile } from '../analysis/statistics/chi-squared.ts';
import { DAY_MS, DEMO_START_MS } from '../demo/calendar.ts';
import type { ModelledFault } from '../demo/fault-sizes.ts';
import { FAULT_SIZES } from '../demo/fault-sizes.ts';
import type { SyntheticKind } from '../demo/synthetic-kinds.ts';
import { type DetectionRun, detectionRuns, firstReports, runningHoursAt } from './detection-runs.ts';
import { createPlainDetector, type PlainSeries } from './plain-detector.ts';

/**
 * Measures detection on the demo's engine model, which shares no code with the analysis. Prints: false findings per 100
 * units and week with its 90 % interval, delay and share found for the anchors, the true cause in the top two, the
 * calibration of the probabilities; and beside them a plain detector at the same false-finding rate.
 *
 * Arguments: units, days, seeds (comma separated), parts (healthy, anchors, causes; comma separated), faults
 * for the part on causes (all when left out).
 */
const units = Number(process.argv[2] ?? 48);
const days = Number(process.argv[3] ?? 90);
const seeds = (process.argv[4] ?? '1,2,3').split(',').map(Number);
const only = process.argv[6]?.split(',');
const RATE = 1;
const ONSET_DAY = 45;
const onsetMs = DEMO_START_MS + ONSET_DAY * DAY_MS;
const WEEK_MS = 7 * DAY_MS;

/** Faults that take energy from the turbine: steady signals cannot tell them apart, and any of them is right for another. */
const ONE_DIRECTION = new Set([
  'wastegate_stuck_open',
  'vgt_stuck_open',
  'exhaust_leak_before_turbine',
  'turbine_efficiency_loss',
  'bearing_wear_or_rub',
]);
const ANCHORS: readonly {
  name: string;
  fault: ModelledFault;
  severity: number;
  kinds: readonly SyntheticKind[];
  sensorSet: 'base' | 'full';
}[] = [
  {
    name: '5 mm leak, truck',
    fault: 'boost_leak_after_cooler',
    severity: 0.5,
    kinds: ['long_haul'],
    sensorSet: 'base',
  },
  {
    name: 'effectiveness -0.05',
    fault: 'cac_coolant_side_fouled',
    severity: 0.4,
    kinds: ['long_haul', 'inland_cargo', 'ferry'],
    sensorSet: 'base',
  },
  {
    name: 'compressor -2 points',
    fault: 'compressor_fouled',
    severity: 1 / 3,
    kinds: ['long_haul', 'inland_cargo'],
    sensorSet: 'full',
  },
  {
    name: 'filter +2 kPa',
    fault: 'intake_restriction',
    severity: 0.3,
    kinds: ['long_haul', 'inland_cargo'],
    sensorSet: 'full',
  },
];

const parts = (process.argv[5] ?? 'healthy,anchors,causes').split(',');
const limit = parts.includes('healthy') ? measureHealthy() : Number.POSITIVE_INFINITY;
if (parts.includes('anchors')) measureAnchors(limit);
if (parts.includes('causes')) measureCauses();

function measureHealthy(): number {
  let findings = 0;
  let upsets = 0;
  let unitWeeks = 0;
  let samples = 0;
  let stepMs = 0;
  let bytes = 0;
  const plain: PlainSeries[] = [];
  const kinds = new Map<string, number>();
  for (const seed of seeds) {
    for (const run of detectionRuns({ units, days, seed, faults: [] }, { rate: RATE, keepPoints: true })) {
      const first = firstReports(run.findings);
      findings += first.length;
      upsets += countUpsets(run);
      for (const one of first)
        kinds.set(`${one.kind}/${run.unit.duty}`, (kinds.get(`${one.kind}/${run.unit.duty}`) ?? 0) + 1);
      const end = run.clock[run.clock.length - 1]?.atMs ?? 0;
      if (run.learntMs !== undefined) unitWeeks += (end - run.learntMs) / WEEK_MS;
      plain.push(createPlainDetector(run.points, run.unit));
      samples += run.samples;
      stepMs += run.stepMs;
      bytes = Math.max(bytes, run.stateBytes);
    }
  }
  const [low, high] = poissonInterval(upsets);
  const per100 = (count: number) => ((100 * count) / unitWeeks).toFixed(2);
  console.log(
    `healthy: ${units} units x ${days} days x ${seeds.length} seeds, ${unitWeeks.toFixed(0)} unit-weeks judged`,
  );
  console.log(
    `  false upsets ${upsets}: ${per100(upsets)} per 100 units and week (90 %: ${per100(low)} to ${per100(high)}); single findings ${findings}: ${per100(findings)}; asked for ${RATE}`,
  );
  console.log(`  by kind and duty: ${[...kinds].map(([key, count]) => `${key} ${count}`).join(', ') || 'none'}`);
  console.log(`  step: ${((1000 * stepMs) / samples).toFixed(2)} us a sample, largest state ${bytes} bytes`);
  const limit = plainLimitFor(plain, upsets, unitWeeks);
  const plainAt5 = plain.reduce((sum, one) => sum + one.upsets(5), 0);
  console.log(
    `  plain detector: ${per100(plainAt5)} per 100 units and week at h = 5; h = ${limit.toFixed(1)} gives our rate`,
  );
  return limit;
}

/** Findings of one unit that are open at the same time are one upset: one task. */
function countUpsets(run: DetectionRun): number {
  let count = 0;
  const open = new Set<string>();
  for (const finding of run.findings) {
    if (finding.state === 'cleared') open.delete(finding.id);
    else {
      if (open.size === 0) count += 1;
      open.add(finding.id);
    }
  }
  return count;
}

function measureAnchors(plainLimit: number): void {
  console.log(
    `anchors, step at day ${ONSET_DAY}: share found, median delay in running hours (plain detector at the same false rate)`,
  );
  for (const anchor of ANCHORS) {
    const delays: number[] = [];
    const plainDelays: number[] = [];
    let count = 0;
    for (const seed of seeds) {
      const fleet = {
        units: 8,
        days,
        seed: 100 + seed,
        sensorSet: anchor.sensorSet,
        kinds: anchor.kinds,
        faults: Array.from({ length: 8 }, (_, unit) => ({
          unit,
          fault: anchor.fault,
          onsetDay: ONSET_DAY,
          severity: anchor.severity,
        })),
      };
      for (const run of detectionRuns(fleet, { rate: RATE, keepPoints: true })) {
        count += 1;
        const onset = runningHoursAt(run, onsetMs);
        const found = run.findings.find((finding) => finding.updatedAtMs >= onsetMs && finding.state === 'open');
        if (found !== undefined) delays.push(runningHoursAt(run, found.updatedAtMs) - onset);
        const plainAt = createPlainDetector(run.points, run.unit).firstAfter(plainLimit, onsetMs);
        if (plainAt !== undefined) plainDelays.push(runningHoursAt(run, plainAt) - onset);
      }
    }
    console.log(
      `  ${anchor.name.padEnd(24)} ${share(delays.length, count)} ${median(delays)} h   plain ${share(plainDelays.length, count)} ${median(plainDelays)} h`,
    );
  }
}

function measureCauses(): void {
  const calibration = Array.from({ length: 10 }, () => ({ said: 0, count: 0, right: 0 }));
  let top1 = 0;
  let top2 = 0;
  let judged = 0;
  let all = 0;
  let members = 0;
  console.log('causes, both sensor sets, sizes 0.7 to 1.5, three weeks after the first report:');
  for (const [index, fault] of (Object.keys(FAULT_SIZES) as ModelledFault[]).entries()) {
    if (only !== undefined && !only.includes(fault)) continue;
    const kinds = kindsFor(fault);
    let [hits, found, count] = [0, 0, 0];
    const others = new Map<string, number>();
    for (const sensorSet of ['base', 'full'] as const) {
      const size = 3;
      const fleet = {
        units: kinds.length * size,
        days,
        seed: 500 + index,
        sensorSet,
        kinds,
        faults: Array.from({ length: kinds.length * size }, (_, unit) => ({
          unit,
          fault,
          onsetDay: ONSET_DAY,
          fullDay: ONSET_DAY + 10,
          severity: 0.7 + (0.8 * unit) / (kinds.length * size),
        })),
      };
      for (const run of detectionRuns(fleet, { rate: RATE, keepPoints: false })) {
        all += 1;
        count += 1;
        const after = run.findings.filter((finding) => finding.updatedAtMs > onsetMs && finding.state === 'open');
        const first = after[0];
        if (first === undefined) continue;
        found += 1;
        judged += 1;
        const last = after.filter((finding) => finding.updatedAtMs <= first.updatedAtMs + 3 * WEEK_MS).pop() ?? first;
        const right = (cause: string) => cause === fault || (ONE_DIRECTION.has(cause) && ONE_DIRECTION.has(fault));
        const ranked = last.causeGroups.map((group) => ({
          probability: group.probability,
          right: group.causes.some(right),
        }));
        if (ranked[0]?.right) top1 += 1;
        if (ranked.slice(0, 2).some((one) => one.right)) {
          top2 += 1;
          hits += 1;
        } else others.set(last.causes[0]?.cause ?? '', (others.get(last.causes[0]?.cause ?? '') ?? 0) + 1);
        members += last.causeGroups.slice(0, 2).reduce((sum, group) => sum + group.causes.length, 0);
        for (const one of ranked) {
          const bin = calibration[Math.min(9, Math.floor(one.probability * 10))];
          if (bin === undefined) continue;
          bin.said += one.probability;
          bin.count += 1;
          bin.right += one.right ? 1 : 0;
        }
      }
    }
    console.log(
      `  ${fault.padEnd(34)} found ${share(found, count)} true cause in top two ${share(hits, found)} ${[...others].map(([cause, n]) => `${cause} ${n}`).join(', ')}`,
    );
  }
  console.log(
    `  all: found ${share(judged, all)}, first ${share(top1, judged)}, top two ${share(top2, judged)}; ${(members / judged).toFixed(1)} causes in the first two groups`,
  );
  console.log('calibration: said probability, how often right, count');
  for (const bin of calibration)
    if (bin.count > 0)
      console.log(`  ${(bin.said / bin.count).toFixed(2)}  ${(bin.right / bin.count).toFixed(2)}  ${bin.count}`);
}

function kindsFor(fault: ModelledFault): readonly SyntheticKind[] {
  if (fault.startsWith('vgt')) return ['tipper'];
  if (fault.startsWith('wastegate')) return ['long_haul'];
  if (fault === 'coolant_flow_low') return ['inland_cargo', 'ferry'];
  return ['long_haul', 'inland_cargo'];
}

/** Limit of the plain detector at which it raises as many upsets on the healthy fleet as we did. */
function plainLimitFor(series: readonly PlainSeries[], upsets: number, unitWeeks: number): number {
  const wanted = Math.max(upsets, (RATE * unitWeeks) / 100);
  let h = 5;
  while (h < 500 && series.reduce((sum, one) => sum + one.upsets(h), 0) > wanted) h *= 1.1;
  return h;
}

/** Exact 90 % interval of a Poisson count (Garwood 1936). */
function poissonInterval(count: number): readonly [number, number] {
  const low = count === 0 ? 0 : (chiSquaredQuantile(0.05, 2 * count) ?? 0) / 2;
  return [low, (chiSquaredQuantile(0.95, 2 * count + 2) ?? 0) / 2];
}

function share(part: number, whole: number): string {
  return whole === 0 ? '-' : `${part}/${whole}`;
}

function median(values: readonly number[]): string {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length === 0 ? '-' : (sorted[sorted.length >> 1] as number).toFixed(1);
}
