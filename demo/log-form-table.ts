import type { LogForm } from './log-forms.ts';
import { MARINE_LOGS } from './marine-logs.ts';
import { ROAD_LOGS } from './road-logs.ts';

/** The form in which each unit's logger writes, by unit. */
export const LOG_FORMS: { readonly [unit: string]: LogForm } = { ...ROAD_LOGS, ...MARINE_LOGS };
