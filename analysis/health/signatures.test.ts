import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import type { ChannelKey } from '../../schemas/channel.ts';
import type { Signature } from './signature.ts';
import { SIGNATURES } from './signatures.ts';

/** Symptom ids of the matrix and the channels they are measured by. */
const CHANNEL_OF: { readonly [symptom: string]: ChannelKey } = {
  boost: 'boost',
  im_minus_sink: 'coolerApproach',
  comp_out_temp: 'compressorOutletTemperature',
  egt_pre_turbine: 'exhaustTemperature',
  egt_post_turbine: 'turbineOutletTemperature',
  turbo_speed: 'turbochargerSpeed',
  turbine_inlet_pressure: 'turbineInletPressure',
  oil_pressure: 'oilPressure',
  oil_temp: 'turbochargerOilTemperature',
};

/** Where a signature departs from the matrix on purpose, and why. */
const EXPLAINED: { readonly [causeAndChannel: string]: string } = {
  'intake_restriction/compressorOutletTemperature/open':
    'the calculation gives +0.7 K for 3.2 kPa, within two standard deviations of a sensor',
  'compressor_fouled/compressorOutletTemperature/open':
    'the calculation gives +1.1 K for 5 points, within two standard deviations of a sensor',
  'nozzle_fouled/compressorOutletTemperature/open':
    'more boost is hotter air at the compressor: the matrix leaves boost open and does not follow it to the outlet',
  'coolant_flow_low/compressorOutletTemperature/open':
    'as the matrix itself derives it for the water side: a little more boost',
  'coolant_flow_low/turbochargerSpeed/open': 'as the matrix itself derives it for the water side: a little more boost',
  'coolant_flow_low/turbineOutletTemperature/open':
    'hotter charge makes the exhaust hotter on both sides of the turbine, as the matrix itself says of the water side',
};

type Matrix = { faults: { id: string; signs: { [symptom: string]: { open: string; closed: string } } }[] };

const matrix = JSON.parse(
  readFileSync(new URL('../../test/reference/fault-symptoms.json', import.meta.url), 'utf8'),
) as Matrix;

describe('signatures agree with the fault-symptom matrix (test/reference/fault-symptoms.json, its sources within)', () => {
  for (const signature of SIGNATURES) {
    const fault = matrix.faults.find((one) => one.id === signature.cause);
    if (fault === undefined) continue;
    test(`${signature.cause} moves each channel to the side that the matrix gives`, () => {
      for (const [symptom, channel] of Object.entries(CHANNEL_OF)) {
        const signs = fault.signs[symptom] ?? { open: '0', closed: '0' };
        for (const regime of ['open', 'closed'] as const) {
          if (regime === 'closed' && signature.closed === undefined) continue;
          const key = `${signature.cause}/${channel}/${regime}`;
          const ours = signOf(signature, regime, channel);
          if (EXPLAINED[key] !== undefined) expect(ours, key).not.toBe(signs[regime]);
          else expect(fits(ours, signs[regime]), `${key}: ours ${ours}, matrix ${signs[regime]}`).toBe(true);
        }
      }
    });
  }

  test('every fault of the matrix has a signature, but for those no fitted signal shows', () => {
    const missing = matrix.faults.map((fault) => fault.id).filter((id) => !SIGNATURES.some((one) => one.cause === id));
    // An internal leak shows as water at the drain; altitude and derating are conditions the expectation allows for.
    expect(missing).toEqual(['cac_internal_leak', 'high_altitude_or_hot_ambient', 'engine_derate']);
  });
});

function signOf(signature: Signature, regime: 'open' | 'closed', channel: ChannelKey): string {
  const effect = (regime === 'open' ? signature.open : (signature.closed ?? signature.open))[channel];
  if (effect === undefined || effect === 0) return '0';
  return effect === 'either' ? '?' : effect > 0 ? '+' : '-';
}

/** '?' of the matrix means that it depends: any sign of ours is a choice within it. */
function fits(ours: string, theirs: string): boolean {
  return theirs === '?' || ours === theirs;
}
