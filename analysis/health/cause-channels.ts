import type { ChannelKey } from '../../schemas/channel.ts';
import { SIGNATURES } from './signatures.ts';

/** Channels that are computed from others: what moves one of these moves them. */
const COMPUTED_FROM: { readonly [K in ChannelKey]?: readonly ChannelKey[] } = {
  coolerEffectiveness: ['coolerApproach', 'chargeAirTemperature', 'compressorOutletTemperature'],
  compressorEfficiency: ['compressorEfficiency', 'compressorOutletTemperature', 'boost'],
  coolerApproach: ['coolerApproach', 'chargeAirTemperature'],
  chargeAirTemperature: ['coolerApproach', 'chargeAirTemperature'],
};

/**
 * Whether a cause is known to move a channel, in any regime of boost control.
 *
 * @returns `undefined` for a cause without a signature: then nothing is known either way.
 */
export function causeMoves(cause: string, channel: ChannelKey): boolean | undefined {
  const signature = SIGNATURES.find((one) => one.cause === cause);
  if (signature === undefined) return undefined;
  const effects = [signature.open, signature.closed ?? {}];
  return (COMPUTED_FROM[channel] ?? [channel]).some((key) => effects.some((one) => one[key] !== undefined));
}
