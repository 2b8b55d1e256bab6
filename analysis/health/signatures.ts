import { AIR_PATH_SIGNATURES } from './air-path-signatures.ts';
import { ENGINE_SIGNATURES } from './engine-signatures.ts';
import { SENSOR_SIGNATURES } from './sensor-signatures.ts';
import type { Signature } from './signature.ts';

/**
 * Sizes are those of a steady-state matching calculation of a 12.7 L engine at 1500 rpm and 150 kPa boost (signs agree
 * with table 5.4.1 of Isermann, Combustion Engine Diagnosis, where it was seen); where the calculation says nothing they
 * are from memory. They show direction and order of size, never a limit: the ranking allows each about a third of its size either way.
 */
export const SIGNATURES: readonly Signature[] = [...AIR_PATH_SIGNATURES, ...ENGINE_SIGNATURES, ...SENSOR_SIGNATURES];
