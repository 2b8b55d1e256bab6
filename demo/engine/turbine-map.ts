/**
 * Flow capacity of a radial turbine as two nozzles in series (guide and wheel), each with the square root of the whole
 * expansion. The engine needs it backwards: which pressure before the turbine drives a given flow. So the curve is
 * tabled once over the reduced flow and read by straight lines: no iteration in the inner loop.
 *
 * The analysis knows nothing of this: it never computes a turbine.
 */
const GAMMA = 1.34;
const GAS_CONSTANT_J = 287;
const COUNT = 2048;

/** Largest reduced flow of the table, kg·√K/(s·m²·kPa) referred to outlet pressure; beyond it the last value holds. */
const FLOW_MAX = reducedFlow(9);
const FLOW_TO_INDEX = (COUNT - 1) / FLOW_MAX;

const expansionRatios = buildExpansionRatios();
const expandedShares = expansionRatios.map((ratio) => 1 - ratio ** (-(GAMMA - 1) / GAMMA));

/**
 * Expansion ratio (before by after) that drives a reduced flow through a turbine.
 *
 * @param reduced - flow·√temperature / (area · pressure after), kg·√K/(s·m²·kPa), zero or more.
 */
export function expansionRatioOf(reduced: number): number {
  return read(expansionRatios, reduced);
}

/** Share of the inlet enthalpy that an isentropic expansion at this reduced flow gives up. */
export function expandedShareOf(reduced: number): number {
  return read(expandedShares, reduced);
}

function read(table: Float64Array, reduced: number): number {
  const place = reduced * FLOW_TO_INDEX;
  if (place >= COUNT - 1) return table[COUNT - 1] as number;
  const index = place | 0;
  const low = table[index] as number;
  return low + ((table[index + 1] as number) - low) * (place - index);
}

function reducedFlow(expansionRatio: number): number {
  const stage = Math.min(Math.sqrt(expansionRatio), ((GAMMA + 1) / 2) ** (GAMMA / (GAMMA - 1)));
  const psi = Math.sqrt(((2 * GAMMA) / (GAMMA - 1)) * (stage ** (-2 / GAMMA) - stage ** (-(GAMMA + 1) / GAMMA)));
  return (expansionRatio * 1000 * psi) / Math.sqrt(GAS_CONSTANT_J);
}

function buildExpansionRatios(): Float64Array {
  const table = new Float64Array(COUNT);
  for (let i = 0; i < COUNT; i += 1) {
    const wanted = i / FLOW_TO_INDEX;
    let low = 1;
    let high = 9;
    for (let pass = 0; pass < 50; pass += 1) {
      const middle = (low + high) / 2;
      if (reducedFlow(middle) < wanted) low = middle;
      else high = middle;
    }
    table[i] = (low + high) / 2;
  }
  return table;
}
