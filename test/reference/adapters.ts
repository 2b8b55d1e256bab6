import type { ReferenceAdapter } from './case.ts';
import { statisticsAdapter } from './statistics-quantities.ts';
import { thermoAdapter } from './thermo-quantities.ts';

/** All adapters, in the order in which they are asked; the first that knows a quantity answers. */
export const ADAPTERS: readonly ReferenceAdapter[] = [thermoAdapter, statisticsAdapter];
