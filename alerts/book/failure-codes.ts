/**
 * Failure modes that a task can be closed with, codes of ISO 14224:2016 (annex B, rotating machinery).
 * Codes second-hand and from memory; the wording is our own. Check against the standard before exchanging them.
 */
export const FAILURE_MODES: Readonly<Record<string, string>> = {
  AIR: 'abnormal instrument reading',
  ELU: 'leaks to the outside, utility medium',
  ERO: 'erratic output',
  HIO: 'output too high',
  IHT: 'transfers too little heat',
  INL: 'leaks inside',
  LBP: 'oil supply pressure too low',
  LOO: 'output too low',
  OHE: 'overheats',
  PDE: 'a monitored parameter departs',
  PLU: 'plugged or choked',
  STD: 'damage to the structure',
  VIB: 'vibrates',
  OTH: 'another mode, see note',
};

/**
 * Failure mechanisms of ISO 14224:2016 table B.2. Groups 1 and 2 and 3.1 were seen quoted; the others are from memory;
 * the wording is our own.
 */
export const FAILURE_MECHANISMS: Readonly<Record<string, string>> = {
  '1.1': 'leakage',
  '1.2': 'vibration',
  '1.3': 'clearance or alignment',
  '1.4': 'deformation',
  '1.5': 'looseness',
  '1.6': 'sticking',
  '2.1': 'cavitation',
  '2.2': 'corrosion',
  '2.3': 'erosion',
  '2.4': 'wear',
  '2.5': 'breakage',
  '2.6': 'fatigue',
  '2.7': 'overheating',
  '2.8': 'burst',
  '3.1': 'control failure',
  '3.2': 'no signal',
  '3.3': 'faulty signal',
  '3.4': 'out of adjustment',
  '3.5': 'software error',
  '4.2': 'open circuit',
  '5.1': 'blockage',
  '5.2': 'contamination',
  '6.1': 'no cause found',
  '6.3': 'another cause, see note',
};
