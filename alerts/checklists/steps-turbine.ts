import { hasBoostControl, isTwoStroke, type Step } from './step.ts';

/** Boost control, turbine, exhaust and bearings. Figures without a named source are common practice. */
export const TURBINE_STEPS = {
  actuator_command: {
    stage: 'codes_and_log',
    instruction:
      'Compare the actuator’s command with its feedback through the load range, and note whether it stands at a stop.',
    tool: 'engine maker’s diagnostic tool',
    measure: { quantity: 'largest command minus feedback', unit: '%' },
    accept: { practice: 'within 5 % of travel' },
    fits: hasBoostControl,
    separating: true,
  },
  actuator_line: {
    stage: 'look_and_listen',
    instruction:
      'Follow the actuator’s air or vacuum line and its plug: split, chafed, pinched, pulled off, or looped where it should not be?',
    accept: { good: 'line whole, plug tight, nothing added' },
    cautions: ['stopped', 'hot', 'actuator'],
    fits: hasBoostControl,
  },
  actuator_travel: {
    stage: 'measure',
    instruction:
      'Put regulated air on the capsule (or drive it by the tool) and measure where it begins to move, full travel, and whether it seats.',
    tool: 'regulator with gauge, dial gauge',
    measure: { quantity: 'pressure at which the actuator begins to move', unit: 'kPa' },
    accept: { good: 'as the maker states; free, no stick, seats fully' },
    cautions: ['stopped', 'hot', 'actuator', 'pressurised'],
    fits: hasBoostControl,
    separating: true,
  },
  gate_seat: {
    stage: 'open',
    instruction: 'Look at gate, seat and spindle for wear, cracks and soot that shows gas passing.',
    tool: 'borescope',
    accept: { good: 'gate seats all round' },
    cautions: ['stopped', 'hot', 'actuator'],
    fits: hasBoostControl,
  },
  vanes_open: {
    stage: 'open',
    instruction:
      'Look at vanes and unison ring: soot, scale, bent or seized vanes; work them through by hand after the lever is freed.',
    tool: 'borescope',
    accept: { good: 'vanes move together, stop to stop' },
    cautions: ['stopped', 'hot', 'actuator'],
    fits: (unit) => unit.engine.boostControl === 'variable_geometry',
  },
  manifold_pressure: {
    stage: 'measure',
    instruction:
      'Measure exhaust manifold pressure beside boost at one steady load: it rises with a closed or fouled nozzle, falls with a leak or an open gate.',
    tool: 'gauge on a cooling coil',
    measure: { quantity: 'exhaust manifold pressure', unit: 'kPa' },
    accept: { good: 'ratio to boost as in this unit’s record' },
    cautions: ['running', 'hot', 'exhaust_gas'],
    separating: true,
  },
  soot_look: {
    stage: 'look_and_listen',
    instruction:
      'Cold, look along manifold, expansion pieces and turbine flange for soot streaks; in the dark a running leak can be heard and felt as heat at a distance.',
    tool: 'torch, mirror, carbon monoxide meter',
    measure: { quantity: 'carbon monoxide in the space', unit: 'ppm' },
    accept: { good: 'no soot, no hiss that follows load, no carbon monoxide' },
    cautions: ['hot', 'exhaust_gas'],
    separating: true,
  },
  exhaust_smoke_test: {
    stage: 'measure',
    instruction: 'Cold and stopped, put smoke or low-pressure air into the exhaust side and look at each joint.',
    tool: 'smoke machine or regulated air',
    measure: { quantity: 'test pressure', unit: 'kPa' },
    accept: { good: 'no smoke at any joint' },
    cautions: ['stopped', 'pressurised', 'test_covers'],
  },
  exhaust_joint: {
    stage: 'open',
    instruction:
      'Renew gasket or expansion piece with the correct grade, check the flange for warp and the manifold for cracks, tighten to torque, re-torque hot if the maker says so.',
    tool: 'straight edge, torque wrench',
    measure: { quantity: 'flange warp', unit: 'mm' },
    accept: { good: 'no visible leak after a loaded run' },
    cautions: ['stopped', 'hot', 'relagging'],
  },
  back_pressure: {
    stage: 'measure',
    // Tapping 150 to 300 mm after the turbine outlet: TM 5-3895-346-14. 6.7 kPa TM 5-3805-258-24-1, 8.5 kPa TM 5-3805-260-24.
    instruction:
      'Measure back pressure in a straight pipe 150 to 300 mm after the turbine outlet at rated speed and load.',
    tool: 'low-pressure gauge on a cooling coil',
    measure: { quantity: 'exhaust back pressure', unit: 'kPa' },
    accept: { practice: 'manuals of such engines allow 6.7 to 8.5 kPa' },
    cautions: ['running', 'hot', 'exhaust_gas'],
    separating: true,
  },
  exhaust_way: {
    stage: 'open',
    instruction:
      'Find the restricted part: flap, silencer, particulate filter, boiler, scrubber, spark arrester, collapsed inner pipe.',
    tool: 'borescope',
    accept: { good: 'back pressure falls when the part is by-passed or clean' },
    cautions: ['stopped', 'hot', 'exhaust_gas'],
  },
  outlet_temperature: {
    stage: 'measure',
    instruction: 'Write down exhaust temperature before and after the turbine at one steady load.',
    tool: 'fitted thermometers or pyrometer',
    measure: { quantity: 'exhaust temperature before the turbine', unit: '°C' },
    accept: { limit: 'exhaustTemperatureMaxC', good: 'as this unit’s record at that load' },
    cautions: ['running', 'hot'],
  },
  turbine_wash: {
    stage: 'codes_and_log',
    instruction:
      'Read the turbine and compressor wash record: a slow rise that steps back after each wash is deposit, not wear.',
    accept: { good: 'washes done when due, each with its recovery noted' },
    separating: true,
    fits: (unit) => unit.kind === 'vessel' || unit.kind === 'generator',
  },
  turbine_open: {
    stage: 'open',
    instruction:
      'Outlet pipe off or borescope: nozzle ring, blades and casing for deposits, erosion, cracks and parts from upstream; photograph before cleaning.',
    tool: 'borescope',
    accept: { good: 'blades whole, ring clear, no cracks beyond what the maker allows' },
    cautions: ['stopped', 'hot', 'cleaning'],
  },
  shaft_spin: {
    stage: 'open',
    // Turn-and-tilt touch test: TM 9-2815-260-24, pages 4-38 to 4-41.
    instruction:
      'Inlet pipe off, cold: spin the rotor by hand, then push it to each side while turning. It must turn freely and touch nowhere.',
    tool: 'gloves, torch',
    accept: { good: 'free, no touch, no scrape' },
    cautions: ['stopped', 'hot', 'open_intake'],
    separating: true,
  },
  shaft_play: {
    stage: 'open',
    instruction:
      'Measure axial and radial play with a dial gauge and write both down with the point where they were taken.',
    tool: 'dial gauge, bracket',
    measure: { quantity: 'axial play', unit: 'mm' },
    // TM 9-2815-255-24 3-13.3; TM 10-3930-675-24-2 WP 0217; TM 10-3930-660-34 4-6. Types are never pooled.
    accept: { practice: 'small truck types range from 0.025 to 0.10 mm axial; only the figure of this type decides' },
    cautions: ['stopped', 'hot'],
  },
  shaft_radial: {
    stage: 'open',
    instruction: 'Measure radial play at the place the maker names (shaft or wheel end differ several times over).',
    tool: 'dial gauge, bracket',
    measure: { quantity: 'radial play', unit: 'mm' },
    accept: {
      practice:
        'small truck types: 0.08 to 0.15 mm at the shaft, up to 0.64 mm at the wheel; only the figure of this type decides',
    },
    cautions: ['stopped', 'hot'],
  },
  oil_debris: {
    stage: 'measure',
    instruction: 'Cut the oil filter or look at the magnetic plug and take an oil sample: bearing metal, and how much.',
    tool: 'filter cutter, sample bottle',
    accept: { good: 'no flakes; the laboratory’s trend unchanged' },
    cautions: ['stopped', 'hot_coolant'],
    separating: true,
  },
  blower_flaps: {
    stage: 'look_and_listen',
    instruction:
      'Check blowers, their flaps and the change-over pressure: a flap that stays open lets scavenge air run back.',
    accept: { good: 'flaps shut when the turbocharger carries the load' },
    cautions: ['blower', 'running'],
    fits: isTwoStroke,
  },
} as const satisfies Record<string, Step>;
