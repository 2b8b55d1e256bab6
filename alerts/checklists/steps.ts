import { AIR_STEPS } from './steps-air.ts';
import { COOLER_STEPS } from './steps-cooler.ts';
import { ENGINE_STEPS } from './steps-engine.ts';
import { FIRST_STEPS } from './steps-first.ts';
import { TURBINE_STEPS } from './steps-turbine.ts';

/** Every step that a work sheet can hold, by id. */
export const STEPS = { ...FIRST_STEPS, ...AIR_STEPS, ...COOLER_STEPS, ...TURBINE_STEPS, ...ENGINE_STEPS } as const;

export type StepId = keyof typeof STEPS;
