import type { ChannelKey } from '../schemas/channel.ts';
import type { MaintenanceWork, Verdict } from '../schemas/verdict.ts';
import { restart } from './close-hour.ts';
import type { Context } from './context.ts';
import { CHANNEL_RULES, channelSignals } from './detection/channel-table.ts';
import { emptyPool } from './detection/learning.ts';
import type { ChannelState, UnitState } from './state.ts';

const GAS_PATH: readonly ChannelKey[] = [
  'boost',
  'compressorOutletTemperature',
  'compressorEfficiency',
  'exhaustTemperature',
  'turbineOutletTemperature',
  'turbineInletPressure',
  'turbochargerSpeed',
  'actuator',
];
const COOLER: readonly ChannelKey[] = [
  'chargeAirTemperature',
  'coolerApproach',
  'coolerEffectiveness',
  'coolerPressureDrop',
];

type Reset = {
  /** Charts that begin anew against the old expectation: the repaired unit should show it again. */
  readonly restart: readonly ChannelKey[];
  /** Expectations that no longer hold, since a part of another make-up is fitted now. */
  readonly relearn: readonly ChannelKey[];
};

/** What a known maintenance resets, and only that. Common practice, no source. */
const RESETS: { readonly [W in MaintenanceWork]: Reset } = {
  cooler_washed: { restart: [...COOLER, 'boost', 'exhaustTemperature'], relearn: [] },
  cooler_replaced: { restart: ['boost', 'exhaustTemperature'], relearn: COOLER },
  air_filter_changed: { restart: ['filterPressureDrop', ...GAS_PATH], relearn: [] },
  leak_sealed: { restart: [...GAS_PATH, 'coolerPressureDrop', 'filterPressureDrop'], relearn: [] },
  turbocharger_replaced: { restart: COOLER, relearn: [...GAS_PATH, 'turbochargerOilTemperature'] },
  compressor_washed: { restart: GAS_PATH, relearn: [] },
  boost_control_repaired: { restart: GAS_PATH, relearn: [] },
  oil_system_repaired: { restart: ['oilPressure', 'turbochargerOilTemperature'], relearn: [] },
  fuel_system_repaired: { restart: GAS_PATH, relearn: [] },
  sensor_replaced: { restart: [], relearn: [] },
  nothing_done: { restart: [], relearn: [] },
};

/** How a verdict moves the weight of a cause on this unit. Common practice, no source; bounded so nothing is ruled out. */
const LEARNING_FACTOR = { confirmed: 1.5, noneFound: 0.6, least: 0.1, most: 10 } as const;

/**
 * Takes in what a fitter found: priors learn from it, and the expectations and charts that the work touched begin anew
 * while all others go on. Findings on those charts stay open, now to be verified by the next steady hours.
 *
 * @param state - State of the unit.
 * @param verdict - What was found and done.
 * @param context - The unit.
 */
export function applyVerdict(state: UnitState, verdict: Verdict, context: Context): UnitState {
  const touched = new Set<ChannelKey>();
  const relearn = new Set<ChannelKey>();
  for (const work of verdict.work) {
    for (const key of RESETS[work].restart) touched.add(key);
    for (const key of RESETS[work].relearn) relearn.add(key);
  }
  if (verdict.work.includes('sensor_replaced')) {
    for (const rule of CHANNEL_RULES) {
      if (channelSignals(rule, context.unit).some((key) => verdict.signals?.includes(key))) relearn.add(rule.key);
    }
  }
  const channels: { [K in ChannelKey]?: ChannelState } = {};
  for (const [key, channel] of Object.entries(state.channels) as [ChannelKey, ChannelState][]) {
    if (relearn.has(key)) continue;
    channels[key] = touched.has(key)
      ? { ...channel, chart: { ...restart(channel.chart, channel.chart.decisionInterval / 2), ticks: [] } }
      : channel;
  }
  return {
    ...state,
    channels,
    pool:
      relearn.size > 0 ? emptyPool({ nowMs: Math.max(verdict.atMs, state.hourEndMs), hour: state.hour }) : state.pool,
    // A finding whose expectation is learnt anew waits too: it is gone when the new expectation is kept for some hours.
    findings: state.findings.map((open) =>
      open.detector === 'cusum' && (touched.has(open.subject as ChannelKey) || relearn.has(open.subject as ChannelKey))
        ? { ...open, verifying: true }
        : open,
    ),
    learntWeights: learnWeights(state, verdict),
  };
}

function learnWeights(state: UnitState, verdict: Verdict): UnitState['learntWeights'] {
  const weights = { ...state.learntWeights };
  const move = (cause: string, factor: number) => {
    weights[cause] = Math.min(LEARNING_FACTOR.most, Math.max(LEARNING_FACTOR.least, (weights[cause] ?? 1) * factor));
  };
  if (verdict.found !== 'none_found') move(verdict.found, LEARNING_FACTOR.confirmed);
  // 'Nothing found' speaks against what was suspected, never for another cause.
  else
    for (const open of state.findings) if (open.leadingCause !== '') move(open.leadingCause, LEARNING_FACTOR.noneFound);
  return weights;
}
