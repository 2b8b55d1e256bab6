import { UNITS } from '../../schemas/unit-table.ts';
import { convert, convertDifference } from '../../schemas/units.ts';
import type { ReferenceAdapter, ReferenceCase, ReferenceResult } from './case.ts';
import { AIR_QUANTITIES, CHARGE_AIR_QUANTITIES } from './thermo-air.ts';
import { COMPRESSOR_QUANTITIES } from './thermo-compressor.ts';
import { COOLER_QUANTITIES } from './thermo-cooler.ts';
import { InputMissing, inputsOf, underExpectedKeys, unitOfSuffix } from './thermo-inputs.ts';
import { POWER_QUANTITIES } from './thermo-power.ts';

const HANDLERS = {
  ...AIR_QUANTITIES,
  ...CHARGE_AIR_QUANTITIES,
  ...COMPRESSOR_QUANTITIES,
  ...COOLER_QUANTITIES,
  ...POWER_QUANTITIES,
};

/** Maps a thermodynamics case to our functions by its quantity, read without regard to case and spacing. */
export const thermoAdapter: ReferenceAdapter = (referenceCase) => {
  const quantity = referenceCase.quantity.toLowerCase().replaceAll('’', "'").replaceAll(/\s+/g, ' ').trim();
  if (quantity.startsWith('unit conversion')) return unitConversion(referenceCase, quantity.includes('difference'));
  const handler = Object.hasOwn(HANDLERS, quantity) ? HANDLERS[quantity] : undefined;
  if (handler === undefined) return undefined;
  try {
    return { values: underExpectedKeys(handler(inputsOf(referenceCase), referenceCase), referenceCase.expected) };
  } catch (error) {
    if (error instanceof InputMissing) return { notCovered: error.message };
    throw error;
  }
};

// Input and expected keys name both units: value_psi to pressure_Pa.
function unitConversion(referenceCase: ReferenceCase, isDifference: boolean): ReferenceResult {
  const [input, ...others] = Object.keys(referenceCase.inputs);
  const value = input === undefined ? undefined : referenceCase.inputs[input];
  if (input === undefined || others.length > 0 || typeof value !== 'number')
    return { notCovered: 'the case has not exactly one number to convert' };
  const from = unitOfSuffix(afterFirstBar(input));
  if (from === undefined) return { notCovered: `the unit of ${input} is not in our table` };
  const values: Record<string, unknown> = {};
  for (const key of Object.keys(referenceCase.expected)) {
    const to = unitOfSuffix(afterFirstBar(key));
    if (to === undefined || UNITS[to].dimension !== UNITS[from].dimension) continue;
    values[key] = isDifference ? convertDifference({ value, from, to }) : convert({ value, from, to });
  }
  return { values };
}

function afterFirstBar(key: string): string {
  return key.slice(key.indexOf('_') + 1);
}
