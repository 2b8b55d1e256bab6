import { isAfloat, isAirCooled, isSeawaterCooled, isWaterCooled, type Step } from './step.ts';

/** Charge-air cooler, both sides. Figures without a named source are common practice. */
export const COOLER_STEPS = {
  cooler_face: {
    stage: 'look_and_listen',
    instruction:
      'Look through the core from both faces with a light behind it: insects, chaff, mud, bent fins, a blocked gap to the radiator.',
    tool: 'torch',
    accept: { good: 'light through the whole face, fins straight' },
    cautions: ['stopped', 'hot'],
    fits: isAirCooled,
    separating: true,
  },
  cooler_face_clean: {
    stage: 'measure',
    instruction:
      'Clean the fins against the direction of the cooling air with low-pressure water or air and compare the charge-air temperature at the same load.',
    tool: 'low-pressure lance',
    measure: { quantity: 'charge air above ambient, before minus after', unit: 'K' },
    accept: { good: 'charge air back at this unit’s clean temperature above ambient' },
    cautions: ['stopped', 'hot', 'cleaning'],
    fits: isAirCooled,
  },
  cooler_drop: {
    stage: 'measure',
    instruction:
      'Measure the charge-air pressure drop over the cooler at one steady load: up means the air side, unchanged means the other side or the flow of the cooling medium.',
    tool: 'differential gauge or two reference gauges',
    measure: { quantity: 'cooler drop, air side', unit: 'kPa' },
    accept: { practice: 'act at about 1.5 times the clean value at the same air flow' },
    cautions: ['running', 'hot'],
    separating: true,
  },
  cooler_temperatures: {
    stage: 'measure',
    instruction:
      'At the same load measure charge air before and after the cooler and the cooling medium at its inlet, and work out the effectiveness.',
    tool: 'calibrated thermometers',
    measure: { quantity: 'charge air after the cooler', unit: '°C' },
    accept: {
      limit: 'chargeAirTemperatureMaxC',
      practice: 'look at 0.05 and clean at 0.10 below this unit’s clean effectiveness at the same flow',
    },
    cautions: ['running', 'hot'],
  },
  water_rise: {
    stage: 'measure',
    instruction:
      'Measure cooling water in and out at steady load: a small rise with warm charge air means a fouled cooler, a large rise means too little water.',
    tool: 'contact thermometers at inlet and outlet',
    measure: { quantity: 'water rise through the cooler', unit: 'K' },
    accept: { good: 'as in the trial report or this unit’s clean record at that load' },
    cautions: ['running', 'hot_coolant'],
    fits: isWaterCooled,
    separating: true,
  },
  water_others: {
    stage: 'look_and_listen',
    instruction:
      'Look at the other users of the same circuit: all warm means pump, strainer, valve or air in the water, one warm means that cooler.',
    accept: { good: 'other users as usual' },
    cautions: ['running'],
    fits: isWaterCooled,
    separating: true,
  },
  strainer: {
    stage: 'look_and_listen',
    instruction: 'Read the strainer’s drop and pump pressure, look at valve positions and overboard flow.',
    measure: { quantity: 'pump discharge pressure', unit: 'kPa' },
    accept: { good: 'as usual for this unit at that speed' },
    cautions: ['running'],
    fits: isWaterCooled,
  },
  strainer_open: {
    stage: 'open',
    instruction:
      'Open and clean the strainer: mussels, weed, plastic; look at the anodes, note how much is left of them.',
    measure: { quantity: 'anode left', unit: '%' },
    accept: { practice: 'anodes are renewed at about half' },
    cautions: ['seawater_valves', 'stopped'],
    fits: isSeawaterCooled,
  },
  pump_check: {
    stage: 'measure',
    instruction: 'Check the water pump: drive, impeller, air leaks on the suction side, flow against its record.',
    measure: { quantity: 'water flow', unit: 'm³/h' },
    accept: { good: 'as in the trial report' },
    cautions: ['stopped', 'hot_coolant'],
    fits: isWaterCooled,
  },
  medium_temperature: {
    stage: 'measure',
    instruction:
      'Measure the cooling medium where it enters the cooler: a hot medium makes hot charge air in a clean cooler.',
    tool: 'contact thermometer',
    measure: { quantity: 'cooling medium at the cooler inlet', unit: '°C' },
    accept: {
      good: 'charge air above it is unchanged: then look at radiator, fan, central cooler or seawater, not here',
    },
    cautions: ['running', 'hot_coolant'],
    separating: true,
  },
  air_side_clean: {
    stage: 'open',
    instruction:
      'Borescope the air side through the drain or end cover; wash by the maker’s method, rinse, dry completely before the start.',
    tool: 'borescope, circulation rig',
    measure: { quantity: 'cooler drop after cleaning', unit: 'kPa' },
    accept: { good: 'drop and effectiveness back at the clean record at the same load' },
    cautions: ['stopped', 'cleaning', 'runaway', 'lifting'],
  },
  water_side_clean: {
    stage: 'open',
    instruction:
      'Open the water covers, rod or descale the tubes by the maker’s method, renew gaskets and anodes, then pressure-test.',
    tool: 'tube brushes, descaling rig, test pump',
    measure: { quantity: 'test pressure held', unit: 'kPa' },
    accept: { good: 'holds the maker’s test pressure; air side stays dry' },
    cautions: ['stopped', 'seawater_valves', 'cleaning', 'lifting'],
    fits: isWaterCooled,
  },
  coolant_loss: {
    stage: 'look_and_listen',
    instruction:
      'Compare header-tank level and top-up record; look for bubbles in the tank at load and white exhaust after the start.',
    measure: { quantity: 'coolant topped up since the last check', unit: 'L' },
    accept: { good: 'no loss, no bubbles' },
    cautions: ['hot_coolant', 'running'],
    fits: (unit) => isWaterCooled(unit) && !isSeawaterCooled(unit),
    separating: true,
  },
  turn_cocks_open: {
    stage: 'look_and_listen',
    instruction:
      'Before any start: open the indicator cocks or remove the injectors and turn the engine slowly by hand; watch for liquid.',
    tool: 'turning gear or bar',
    accept: { good: 'no liquid from any cylinder' },
    cautions: ['hydraulic_lock', 'stopped'],
    fits: isWaterCooled,
  },
  cooler_pressure_test: {
    stage: 'open',
    instruction:
      'Air side open, put the maker’s test pressure on the water side, hold it, and mark each wet tube; plug no more tubes than the maker allows.',
    tool: 'test pump, gauge, torch',
    measure: { quantity: 'pressure lost in the hold', unit: 'kPa' },
    accept: { good: 'no drop, no water on the air side' },
    cautions: ['stopped', 'pressurised', 'hydraulic_lock'],
    fits: isWaterCooled,
  },
  drain_clear: {
    stage: 'open',
    instruction: 'Clear drain, trap and float; see that water poured in runs out again.',
    accept: { good: 'drain runs free under air pressure' },
    cautions: ['stopped', 'hydraulic_lock'],
    fits: isWaterCooled,
  },
  cylinder_spread: {
    stage: 'measure',
    instruction: 'Write down the exhaust temperature of each cylinder at one steady load.',
    tool: 'fitted thermometers or contact pyrometer',
    measure: { quantity: 'highest minus mean cylinder exhaust temperature', unit: 'K' },
    // One medium-speed engine manual: each cylinder within 30 K of the mean.
    accept: { practice: 'one medium-speed manual keeps each cylinder within 30 K of the mean' },
    cautions: ['running', 'hot'],
    separating: true,
  },
  engine_room_air: {
    stage: 'look_and_listen',
    instruction: 'Check engine-room fans, dampers and louvres, and the temperature at the turbocharger’s silencer.',
    measure: { quantity: 'air at the turbocharger silencer', unit: '°C' },
    accept: { practice: 'the usual class reference is 45 °C engine-room air' },
    cautions: ['running'],
    fits: isAfloat,
  },
} as const satisfies Record<string, Step>;
