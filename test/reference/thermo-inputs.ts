import type { UnitKey } from '../../schemas/unit-table.ts';
import { convert, parseUnit } from '../../schemas/units.ts';
import type { ReferenceCase } from './case.ts';

/** A case does not give, in a unit we know, an input that the quantity needs. The adapter turns it into "not covered". */
export class InputMissing extends Error {
  override readonly name = 'InputMissing';
}

/** Reads the inputs of a case by name, in the unit that our function wants; the case's own unit stands in its key. */
export type Inputs = {
  /** The input in this unit. Throws {@link InputMissing} when no key of that name in a unit of that dimension is there. */
  readonly quantity: (name: string, unit: UnitKey) => number;
  /** As `quantity`, but `undefined` when no such input is given. */
  readonly optionalQuantity: (name: string, unit: UnitKey) => number | undefined;
  /** The number under exactly this key: ratios, and units that only occur in check values. */
  readonly number: (key: string) => number;
  readonly optionalNumber: (key: string) => number | undefined;
  readonly text: (key: string) => string;
  readonly has: (name: string) => boolean;
};

/** What a handler gives: a bare number, or one with its unit, so that it can be given under the key that the case expects. */
export type Output = number | undefined | { readonly value: number | undefined; readonly unit: UnitKey };

/** Maps the inputs of a quantity to our functions; its keys are the expected keys, with or without their unit. */
export type Handler = (inputs: Inputs, referenceCase: ReferenceCase) => Readonly<Record<string, Output>>;

/** A result in this unit. */
export function inUnit(value: number | undefined, unit: UnitKey): Output {
  return { value, unit };
}

/** The unit that the end of a key names: `rev_per_s` is `rev/s`, `inHg_conventional` is `inHg conventional`. */
export function unitOfSuffix(suffix: string): UnitKey | undefined {
  const spelled = suffix.replaceAll('_per_', '/').replaceAll('_', ' ');
  return parseUnit(spelled)?.unit;
}

/** Access to the inputs of a case. */
export function inputsOf(referenceCase: ReferenceCase): Inputs {
  const { inputs } = referenceCase;
  const optionalNumber = (key: string) => {
    const value = inputs[key];
    return typeof value === 'number' ? value : undefined;
  };
  const optionalQuantity = (name: string, unit: UnitKey) => {
    for (const key of Object.keys(inputs)) {
      if (!key.startsWith(`${name}_`)) continue;
      const from = unitOfSuffix(key.slice(name.length + 1));
      const value = optionalNumber(key);
      if (from !== undefined && value !== undefined) return convert({ value, from, to: unit });
    }
    return undefined;
  };
  return {
    optionalNumber,
    optionalQuantity,
    quantity: (name, unit) => present(optionalQuantity(name, unit), `${name} in a unit that converts to ${unit}`),
    number: (key) => present(optionalNumber(key), `the number ${key}`),
    text: (key) => {
      const value = inputs[key];
      return present(typeof value === 'string' ? value : undefined, `the text ${key}`);
    },
    has: (name) => Object.keys(inputs).some((key) => key === name || key.startsWith(`${name}_`)),
  };
}

/** The outputs under the expected keys: an output with a unit is converted to the one that the key names. */
export function underExpectedKeys(
  outputs: Readonly<Record<string, Output>>,
  expected: ReferenceCase['expected'],
): Readonly<Record<string, unknown>> {
  const values: Record<string, unknown> = {};
  for (const key of Object.keys(expected)) {
    if (key in outputs && !isWithUnit(outputs[key])) {
      values[key] = outputs[key];
      continue;
    }
    for (const [name, output] of Object.entries(outputs)) {
      if (!isWithUnit(output) || !key.startsWith(`${name}_`)) continue;
      const to = unitOfSuffix(key.slice(name.length + 1));
      if (to === undefined) continue;
      if (output.value === undefined) values[key] = undefined;
      else {
        const converted = convert({ value: output.value, from: output.unit, to });
        if (converted !== undefined) values[key] = converted;
      }
    }
  }
  return values;
}

function isWithUnit(output: Output): output is { readonly value: number | undefined; readonly unit: UnitKey } {
  return typeof output === 'object';
}

function present<T>(value: T | undefined, what: string): T {
  if (value === undefined) throw new InputMissing(`the case lacks ${what}`);
  return value;
}
