/**
 * Fouling resistance in m2 K/W from overall coefficients, both referred to one area: `1/U_fouled - 1/U_clean`.
 *
 * U itself changes with both flows: compare at equal air and coolant flow. Below zero means that flow or baseline changed,
 * not that the surface is cleaner than clean.
 *
 * @param p.cleanWPerM2K - Clean coefficient, W/(m2 K).
 * @param p.fouledWPerM2K - Coefficient now, W/(m2 K).
 * @returns `undefined` when a coefficient is not above zero.
 */
export function foulingResistanceM2KPerW(p: { cleanWPerM2K: number; fouledWPerM2K: number }): number | undefined {
  return p.cleanWPerM2K > 0 && p.fouledWPerM2K > 0 ? 1 / p.fouledWPerM2K - 1 / p.cleanWPerM2K : undefined;
}

/**
 * Cleanliness: coefficient now over clean coefficient, 1 when clean.
 *
 * @returns `undefined` when a coefficient is not above zero.
 */
export function cleanlinessRatio(p: { cleanWPerM2K: number; fouledWPerM2K: number }): number | undefined {
  return p.cleanWPerM2K > 0 && p.fouledWPerM2K > 0 ? p.fouledWPerM2K / p.cleanWPerM2K : undefined;
}

/**
 * Overall coefficient in W/(m2 K) of a clean surface after this much fouling.
 *
 * @returns `undefined` when the clean coefficient or the sum of resistances is not above zero.
 */
export function fouledCoefficientWPerM2K(p: { cleanWPerM2K: number; foulingM2KPerW: number }): number | undefined {
  const resistance = 1 / p.cleanWPerM2K + p.foulingM2KPerW;
  return p.cleanWPerM2K > 0 && resistance > 0 ? 1 / resistance : undefined;
}

/** A tube with fouling inside and outside. */
export type FouledTube = {
  readonly innerDiameterM: number;
  readonly outerDiameterM: number;
  readonly wallConductivityWPerMK: number;
  readonly insideWPerM2K: number;
  readonly outsideWPerM2K: number;
  readonly insideFoulingM2KPerW: number;
  readonly outsideFoulingM2KPerW: number;
};

/**
 * Thermal resistance of a fouled tube per metre of length, and the overall coefficients referred to its two surfaces.
 *
 * @returns `undefined` when a diameter, coefficient or conductivity is not above zero, or the tube has no wall.
 */
export function fouledTube(
  p: FouledTube,
): { readonly resistanceMKPerW: number; readonly insideWPerM2K: number; readonly outsideWPerM2K: number } | undefined {
  const isTube = p.innerDiameterM > 0 && p.outerDiameterM > p.innerDiameterM && p.wallConductivityWPerMK > 0;
  if (!(isTube && p.insideWPerM2K > 0 && p.outsideWPerM2K > 0)) return undefined;
  const innerM = Math.PI * p.innerDiameterM;
  const outerM = Math.PI * p.outerDiameterM;
  const wall = Math.log(p.outerDiameterM / p.innerDiameterM) / (2 * Math.PI * p.wallConductivityWPerMK);
  const inside = (1 / p.insideWPerM2K + p.insideFoulingM2KPerW) / innerM;
  const outside = (1 / p.outsideWPerM2K + p.outsideFoulingM2KPerW) / outerM;
  const resistanceMKPerW = inside + wall + outside;
  return {
    resistanceMKPerW,
    insideWPerM2K: 1 / (resistanceMKPerW * innerM),
    outsideWPerM2K: 1 / (resistanceMKPerW * outerM),
  };
}
