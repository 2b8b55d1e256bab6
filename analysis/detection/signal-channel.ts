import type { ChannelKey } from '../../schemas/channel.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import { CHANNEL_RULES } from './channel-table.ts';

/** The channel that is read from a signal, or `undefined` when none is. */
export function signalChannel(signal: SignalKey): ChannelKey | undefined {
  return CHANNEL_RULES.find((rule) => 'signals' in rule.from && rule.from.signals.includes(signal))?.key;
}
