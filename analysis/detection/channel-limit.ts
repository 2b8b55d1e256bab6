import type { ChannelKey } from '../../schemas/channel.ts';
import type { Unit } from '../../schemas/unit.ts';
import { oilMinimumKpa } from './hard-limits.ts';

/** A limit of the engine's maker on a channel, and on which side of it trouble lies. */
export type ChannelLimit = { readonly value: number; readonly side: 'upper' | 'lower' };

/**
 * The engine maker's limit on a channel, as the fleet file states it.
 *
 * @param channel - The channel.
 * @param p.speedRpm - Engine speed, for limits that depend on it.
 * @returns In the channel's unit, or `undefined` when the fleet file states none: none is ever assumed.
 */
export function channelLimit(
  channel: ChannelKey,
  p: { readonly unit: Unit; readonly speedRpm: number },
): ChannelLimit | undefined {
  const { limits } = p.unit;
  const upper = (value: number | undefined): ChannelLimit | undefined =>
    value === undefined ? undefined : { value, side: 'upper' };
  switch (channel) {
    case 'boost':
      return upper(limits.boostMaxKpa);
    case 'chargeAirTemperature':
      return upper(limits.chargeAirTemperatureMaxC);
    case 'exhaustTemperature':
      return upper(limits.exhaustTemperatureMaxC);
    case 'filterPressureDrop':
      return upper(limits.filterPressureDropMaxKpa);
    case 'turbochargerSpeed':
      return upper(limits.turbochargerSpeedMaxRpm);
    case 'oilPressure':
      return limits.oilPressureMin === undefined
        ? undefined
        : { value: oilMinimumKpa(limits.oilPressureMin, p.speedRpm), side: 'lower' };
    default:
      return undefined;
  }
}
