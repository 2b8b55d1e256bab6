import type { CheckStage } from '../../schemas/task.ts';
import type { Limits, Unit } from '../../schemas/unit.ts';
import type { StepCaution } from './cautions.ts';

/** Limits of the fleet file that a step can be held against, with the words and unit of the figure. */
export const STEP_LIMITS = {
  boostMaxKpa: { words: 'at most', unit: 'kPa gauge' },
  chargeAirTemperatureMaxC: { words: 'at most', unit: '°C' },
  exhaustTemperatureMaxC: { words: 'at most', unit: '°C' },
  filterPressureDropMaxKpa: { words: 'at most', unit: 'kPa' },
  turbochargerSpeedMaxRpm: { words: 'at most', unit: 'rpm' },
  oilPressureMin: { words: 'at least', unit: 'kPa gauge' },
} as const satisfies { readonly [K in keyof Limits]?: { readonly words: string; readonly unit: string } };

/** When the outcome of a step is good. */
export type Acceptance = {
  /** Limit of the fleet file that decides, where there is one. */
  readonly limit?: keyof typeof STEP_LIMITS;
  /** Figure of common practice; shown with those words and never as a limit. */
  readonly practice?: string;
  /** What good looks like, where no figure is needed. */
  readonly good?: string;
};

/** One step of the library, before it is fitted to a unit. Every step is written once and shared by causes. */
export type Step = {
  readonly stage: CheckStage;
  readonly instruction: string;
  readonly tool?: string;
  readonly measure?: { readonly quantity: string; readonly unit: string };
  readonly accept?: Acceptance;
  readonly cautions?: readonly StepCaution[];
  /** True when it tells causes apart that look alike in the signals; such steps come first in their stage. */
  readonly separating?: true;
  /** Whether the step makes sense on this unit; on every unit when left out. */
  readonly fits?: (unit: Unit) => boolean;
};

/** Whether water, not ambient air, cools the charge air. */
export const isWaterCooled = (unit: Unit): boolean => unit.engine.cooler !== 'air_to_air';
/** Whether the charge-air cooler is cooled by ambient air. */
export const isAirCooled = (unit: Unit): boolean => unit.engine.cooler === 'air_to_air';
/** Whether seawater runs through the charge-air cooler. */
export const isSeawaterCooled = (unit: Unit): boolean => unit.engine.cooler === 'seawater';
/** Whether anything but the turbine's size sets the boost. */
export const hasBoostControl = (unit: Unit): boolean => unit.engine.boostControl !== 'none';
/** Whether the engine is a two-stroke with blowers. */
export const isTwoStroke = (unit: Unit): boolean => unit.engine.strokes === 2;
/** Whether it is afloat. */
export const isAfloat = (unit: Unit): boolean => unit.kind === 'vessel';
/** Whether it runs on wheels or tracks. */
export const isOnLand = (unit: Unit): boolean => unit.kind === 'road' || unit.kind === 'mobile_plant';
