import type { ChannelKey } from '../../schemas/channel.ts';
import type { Severity } from '../../schemas/finding.ts';
import { SEVERITY } from '../limits.ts';

/**
 * Grade of a departure: how far the channel is from its expectation, and how soon a limit of the maker is reached.
 *
 * @param p.channel - What departs.
 * @param p.departure - In the channel's unit, signed.
 * @param p.expected - What was expected, in the channel's unit.
 * @param p.hoursToLimit - Lower end of the interval of the time left, running hours; left out where none is carried.
 * @param p.exceeded - A limit of the maker has been passed.
 */
export function gradeDeparture(p: {
  readonly channel: ChannelKey;
  readonly departure: number;
  readonly expected: number;
  readonly hoursToLimit?: number | undefined;
  readonly exceeded: boolean;
}): Severity {
  if (p.exceeded) return 'high';
  const bySize = gradeSize(p);
  const { hoursToLimit } = p;
  if (hoursToLimit === undefined) return bySize;
  if (hoursToLimit <= SEVERITY.hoursToLimitHigh) return 'high';
  return hoursToLimit <= SEVERITY.hoursToLimitMedium && bySize === 'low' ? 'medium' : bySize;
}

function gradeSize(p: { channel: ChannelKey; departure: number; expected: number }): Severity {
  const size = Math.abs(p.departure);
  const share = size / Math.max(1e-6, Math.abs(p.expected));
  switch (p.channel) {
    case 'boost':
      return step(share, SEVERITY.boostMediumRatio, SEVERITY.boostHighRatio);
    case 'oilPressure':
      return step(share, SEVERITY.oilMediumRatio, SEVERITY.oilHighRatio);
    case 'coolerEffectiveness':
    case 'compressorEfficiency':
      return step(size, SEVERITY.effectivenessMedium, SEVERITY.effectivenessHigh);
    case 'exhaustTemperature':
    case 'turbineOutletTemperature':
      return step(size, SEVERITY.exhaustMediumK, SEVERITY.exhaustHighK);
    case 'chargeAirTemperature':
    case 'coolerApproach':
    case 'compressorOutletTemperature':
      return step(size, SEVERITY.temperatureMediumK, SEVERITY.temperatureHighK);
    case 'filterPressureDrop':
    case 'coolerPressureDrop':
      return step(share, SEVERITY.dropMediumRatio, SEVERITY.dropHighRatio);
    default:
      return 'low';
  }
}

function step(value: number, medium: number, high: number): Severity {
  return value >= high ? 'high' : value >= medium ? 'medium' : 'low';
}
