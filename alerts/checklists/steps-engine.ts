import type { Step } from './step.ts';

/** Lubrication, fuel, cylinders and exhaust recirculation. Figures without a named source are common practice. */
export const ENGINE_STEPS = {
  oil_level: {
    stage: 'look_and_listen',
    instruction:
      'Check oil level, grade, smell and feel: fuel or water in it, or foam? Look for outside leaks and at the filter’s drop.',
    tool: 'dipstick, blotter',
    measure: { quantity: 'oil topped up since the last check', unit: 'L' },
    accept: { good: 'level between the marks, right grade, no fuel, water or foam' },
    cautions: ['stopped', 'hot_coolant'],
    separating: true,
  },
  oil_pressure_hot: {
    stage: 'measure',
    instruction:
      'With a reference gauge at the gallery, oil hot, read pressure at idle and at rated speed, with the oil temperature beside each.',
    tool: 'reference pressure gauge',
    measure: { quantity: 'gallery oil pressure at rated speed, hot', unit: 'kPa' },
    accept: { limit: 'oilPressureMin', good: 'as this unit’s record at the same oil temperature' },
    cautions: ['running', 'oil_feed'],
    separating: true,
  },
  oil_pressure_turbo: {
    stage: 'measure',
    instruction:
      'Read the gauge at the turbocharger’s oil inlet beside the gallery: gallery right and inlet low is line, filter or orifice; both low is the engine’s oil system.',
    tool: 'two reference gauges',
    measure: { quantity: 'oil pressure at the turbocharger inlet', unit: 'kPa' },
    accept: { good: 'as the engine maker states for that speed and oil temperature' },
    cautions: ['running', 'oil_feed', 'hot'],
    separating: true,
  },
  oil_outlet_temperature: {
    stage: 'measure',
    instruction: 'Measure the oil’s rise through the turbocharger at steady load.',
    tool: 'contact thermometers',
    measure: { quantity: 'oil rise through the turbocharger', unit: 'K' },
    // One large two-stroke’s guidance: normal 20 to 45 K, alarm 50 K.
    accept: { practice: 'one large two-stroke’s sheet: usual 20 to 45 K' },
    cautions: ['running', 'hot'],
  },
  oil_line_open: {
    stage: 'open',
    instruction:
      'Take the oil feed line, filter and orifice off: coke, kinks, gasket sealant in the bore? Prime the turbocharger before the start.',
    tool: 'clean oil for priming',
    accept: { good: 'bore clear; oil at the turbocharger before it turns' },
    cautions: ['stopped', 'hot', 'oil_feed'],
  },
  oil_pump_open: {
    stage: 'open',
    instruction: 'Check relief valve, pump, suction strainer and bearings in the maker’s order.',
    accept: { good: 'as the maker’s wear limits' },
    cautions: ['stopped', 'hot_coolant'],
  },
  crankcase_pressure: {
    stage: 'measure',
    instruction: 'Measure crankcase pressure at rated speed and load, and check the breather.',
    tool: 'water manometer',
    measure: { quantity: 'crankcase pressure', unit: 'kPa' },
    accept: { good: 'as the engine maker states' },
    cautions: ['running', 'hot'],
    separating: true,
  },
  oil_drain: {
    stage: 'open',
    instruction:
      'Check the turbocharger’s oil drain: full bore, falling all the way, entering above the oil level, not blocked by sealant.',
    accept: { good: 'free fall, full bore' },
    cautions: ['stopped', 'hot'],
  },
  // Wetness that goes after a clean, loaded run was idling or restriction, not the seal: TM 5-3810-303-24 section 11D.
  seal_rerun: {
    stage: 'open',
    instruction:
      'Clean compressor and turbine ends dry, run loaded, look again: wetness that stays away was long idling or intake restriction, not the seal.',
    measure: { quantity: 'oil found after the run', unit: 'mL' },
    accept: { good: 'dry after a loaded run' },
    cautions: ['stopped', 'hot', 'runaway', 'open_intake'],
  },
  fuel_supply: {
    stage: 'measure',
    instruction:
      'Measure fuel supply pressure after the filter under load and the return; look for air and water in the fuel.',
    tool: 'gauge, sight glass',
    measure: { quantity: 'fuel supply pressure after the filter', unit: 'kPa' },
    accept: { good: 'as the engine maker states' },
    cautions: ['fuel_spray', 'running'],
    separating: true,
  },
  fuel_filter: {
    stage: 'open',
    instruction: 'Drain the water separator and renew the fuel filters; look at what they caught.',
    measure: { quantity: 'water drained', unit: 'mL' },
    accept: { good: 'no water, no sludge' },
    cautions: ['fuel_spray', 'stopped', 'relagging'],
  },
  fuel_balance: {
    stage: 'measure',
    instruction:
      'Run the cylinder balance or cut-out test, and compare smoke, fuel and exhaust temperature cylinder by cylinder.',
    tool: 'engine maker’s diagnostic tool or indicator',
    measure: { quantity: 'largest departure of one cylinder', unit: '%' },
    accept: { good: 'as the engine maker states' },
    cautions: ['running', 'fuel_spray'],
    separating: true,
  },
  injectors: {
    stage: 'open',
    instruction: 'Take out the injectors of the suspected cylinders and have opening pressure, spray and drip tested.',
    tool: 'injector test bench',
    measure: { quantity: 'opening pressure', unit: 'kPa' },
    accept: { good: 'as the engine maker states; no drip' },
    cautions: ['fuel_spray', 'stopped', 'hot'],
  },
  timing: {
    stage: 'measure',
    instruction: 'Check injection timing against the maker’s mark or the control unit’s value.',
    measure: { quantity: 'injection begin before top dead centre', unit: '°' },
    accept: { good: 'as the engine maker states' },
    cautions: ['stopped'],
    separating: true,
  },
  compression: {
    stage: 'measure',
    instruction: 'Measure compression or cylinder leak-down, and check valve clearance.',
    tool: 'compression or leak-down tester, feeler gauges',
    measure: { quantity: 'lowest compression', unit: 'kPa' },
    accept: { good: 'as the engine maker states, cylinders alike' },
    cautions: ['stopped', 'hot'],
    separating: true,
  },
  ports_open: {
    stage: 'open',
    instruction: 'Look at intake ports, valves and scavenge ports for deposits and wear.',
    tool: 'borescope',
    accept: { good: 'ports open, no thick deposit' },
    cautions: ['stopped', 'hot', 'blower'],
  },
  egr_compare: {
    stage: 'measure',
    instruction:
      'Compare the temperature straight after the cooler with the manifold: cold there and warm here means recirculated exhaust, not the cooler.',
    tool: 'contact thermometer',
    measure: { quantity: 'manifold minus cooler outlet', unit: 'K' },
    accept: { good: 'as this unit’s record with the valve commanded shut' },
    cautions: ['running', 'hot'],
    separating: true,
  },
  egr_valve: {
    stage: 'open',
    instruction:
      'Take off the recirculation valve: coke, seat, free travel; check its cooler for soot and for coolant.',
    accept: { good: 'valve shuts tight, moves freely; cooler dry' },
    cautions: ['stopped', 'hot', 'hydraulic_lock'],
  },
} as const satisfies Record<string, Step>;
