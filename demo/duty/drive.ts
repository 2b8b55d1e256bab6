import type { RandomSource } from '../random.ts';
import type { Duty, Phase } from './duty.ts';

/** What the driver asks for at one sample. One object, refilled. */
export type Drive = {
  speedRpm: number;
  loadRatio: number;
  vehicleKmh: number;
  heightM: number;
};

/** Height of the depot and the span of ordinary hills, m. */
const HILLS_M = { low: 30, high: 420 };

/**
 * Creates a driver for one shift. Each call moves on by one sample: phases follow the duty (or a fixed sequence first,
 * such as a pass), aims are followed with a ramp, and load swings about its aim as a first-order random process.
 */
export function createDriver(p: {
  duty: Duty;
  ratedSpeedRpm: number;
  idleSpeedRpm: number;
  random: RandomSource;
  first?: readonly Phase[];
}): (drive: Drive, seconds: number) => void {
  const { duty, random } = p;
  const queue = [...(p.first ?? [])];
  let onQueue = false;
  let place = -1;
  let phase: Phase = duty.phases[0] as Phase;
  let left = 0;
  let aim = { speedRpm: p.idleSpeedRpm, load: 0.05, kmh: 0, loadSd: 0.01 };
  let swing = 0;
  let speed = p.idleSpeedRpm;
  let load = 0.1;
  let kmh = 0;

  const begin = (drive: Drive): void => {
    const fixed = queue.shift();
    onQueue = fixed !== undefined;
    if (fixed !== undefined) phase = fixed;
    else if (duty.order === 'cycle') {
      place = place < 0 ? 0 : (place + 1) % duty.phases.length;
      phase = duty.phases[place] as Phase;
    } else phase = drawPhase(duty.phases, random, drive.heightM);
    left = random.between(...phase.minutes) * 60;
    aim = {
      speedRpm: phase.speedShare === undefined ? p.idleSpeedRpm : random.between(...phase.speedShare) * p.ratedSpeedRpm,
      load: random.between(...phase.load),
      kmh: phase.kmh === undefined ? 0 : random.between(...phase.kmh),
      loadSd: random.between(...phase.loadSd),
    };
  };

  return (drive, seconds) => {
    if (left <= 0) begin(drive);
    left -= seconds;
    const follow = 1 - Math.exp(-seconds / duty.rampS);
    const memory = Math.exp(-seconds / duty.swingS);
    swing = swing * memory + aim.loadSd * Math.sqrt(1 - memory * memory) * random.normal();
    speed += (aim.speedRpm - speed) * follow;
    load += (aim.load - load) * follow;
    kmh += (aim.kmh - kmh) * follow;
    const idling = aim.speedRpm === p.idleSpeedRpm;
    drive.speedRpm = Math.max(
      speed + (idling ? 1 : duty.speedSd) * 0.6 * random.normal() + 40 * swing,
      p.idleSpeedRpm - 15,
    );
    drive.loadRatio = aim.load < 0 && load < 0.02 ? -0.05 : Math.min(Math.max(load + swing, 0), 1);
    drive.vehicleKmh = Math.max(kmh, 0);
    const height = drive.heightM + ((phase.climb ?? 0) * seconds) / 60;
    drive.heightM = onQueue
      ? Math.max(height, HILLS_M.low)
      : Math.min(Math.max(height, HILLS_M.low), Math.max(HILLS_M.high, drive.heightM));
  };
}

/** Draws a phase by weight; climbs are rarer high up and descents rarer low down. */
function drawPhase(phases: readonly Phase[], random: RandomSource, heightM: number): Phase {
  const high = (heightM - HILLS_M.low) / (HILLS_M.high - HILLS_M.low);
  const weightOf = (phase: Phase) => {
    const climb = phase.climb ?? 0;
    const fit = climb > 0 ? 1 - high : climb < 0 ? 2 * high : 1;
    return (phase.weight ?? 1) * Math.max(fit, 0.05);
  };
  let rest = random.uniform() * phases.reduce((sum, phase) => sum + weightOf(phase), 0);
  for (const phase of phases) {
    rest -= weightOf(phase);
    if (rest <= 0) return phase;
  }
  return phases[0] as Phase;
}
