import { isTwoStroke, isWaterCooled, type Step } from './step.ts';

/** Intake, boost pipes and compressor. Figures without a named source are common practice. */
export const AIR_STEPS = {
  filter_indicator: {
    stage: 'look_and_listen',
    instruction:
      'Read the filter indicator; look at rain cap, ducts and pre-cleaner for a collapse, snow, rags or a bird’s nest.',
    tool: 'torch',
    accept: { good: 'indicator not tripped, way clear' },
    cautions: ['stopped', 'open_intake'],
  },
  filter_drop: {
    stage: 'measure',
    instruction: 'Measure the drop from outside air to the compressor inlet at rated speed and full load.',
    tool: 'water manometer or low-pressure gauge, 0–12 kPa',
    measure: { quantity: 'intake drop at rated air flow', unit: 'kPa' },
    // 6.2 kPa in TM 5-3805-260-24, 7.5 kPa in TM 5-3805-258-24-1; figures of two engines, no limits of others.
    accept: {
      limit: 'filterPressureDropMaxKpa',
      practice: '6 to 7.5 kPa is where manuals of such engines change the element',
    },
    cautions: ['running', 'open_intake'],
    separating: true,
  },
  filter_element: {
    stage: 'open',
    instruction:
      'Take the element out; look at it against the light, at the clean side for dust, and at the seal. Fit a new one rather than blow it out.',
    accept: { good: 'no tear, seal whole, clean side free of dust' },
    cautions: ['stopped', 'open_intake'],
  },
  boost_listen: {
    stage: 'look_and_listen',
    instruction:
      'Follow every hose, clamp, bellows and core end from compressor to manifold: oily dust tracks mark a leak; listen under load for a hiss that follows boost.',
    tool: 'torch, mirror, listening tube',
    accept: { good: 'no track, no hiss' },
    cautions: ['running', 'hot'],
    separating: true,
  },
  boost_soap: {
    stage: 'measure',
    instruction: 'Cap the ends, put regulated air on the boost side, brush joints and core ends with soapy water.',
    tool: 'regulator with relief valve, caps, soapy water',
    measure: { quantity: 'test pressure', unit: 'kPa' },
    accept: { good: 'no bubbles', practice: 'test at no more than the boost of rated load' },
    cautions: ['stopped', 'pressurised', 'test_covers'],
  },
  boost_hold: {
    stage: 'measure',
    instruction: 'Isolate the capped boost side under air and write down how much pressure is lost in a stated time.',
    tool: 'regulator with relief valve, gauge, watch',
    measure: { quantity: 'pressure lost in 15 s', unit: 'kPa' },
    // Trade note for truck cores; no standard behind it.
    accept: { practice: 'truck cores are tested at about 207 kPa and refused above 34 kPa lost in 15 s' },
    cautions: ['stopped', 'pressurised', 'test_covers'],
    separating: true,
  },
  boost_joints_open: {
    stage: 'open',
    instruction:
      'Take the leaking joint apart: renew hose, gasket or clamp, wipe the bead clean, align the pipe, tighten to the maker’s torque.',
    tool: 'torque wrench',
    accept: { good: 'pressure holds afterwards' },
    cautions: ['stopped', 'hot', 'relagging'],
  },
  receiver_doors: {
    stage: 'look_and_listen',
    instruction:
      'Check scavenge doors, receiver drains, relief valves and blower flaps for air blowing out or running back.',
    accept: { good: 'no air felt at doors and drains, flaps shut at load' },
    cautions: ['running', 'hot'],
    fits: isTwoStroke,
  },
  compressor_listen: {
    stage: 'look_and_listen',
    instruction:
      'Listen to the turbocharger through the load range: whine that grows, surge, a rub, a slow run-down at the stop.',
    tool: 'listening rod',
    measure: { quantity: 'run-down time from idle', unit: 's' },
    accept: { good: 'smooth, and as long as at earlier stops of this unit' },
    cautions: ['running', 'hot'],
  },
  compressor_efficiency: {
    stage: 'measure',
    instruction:
      'At steady load measure pressure and temperature before and after the compressor, and the filter drop with them: low efficiency with a normal filter is the compressor.',
    tool: 'reference gauge, thermometer',
    measure: { quantity: 'compressor outlet temperature', unit: '°C' },
    accept: { good: 'efficiency back at this unit’s own clean value at the same point' },
    cautions: ['running', 'hot'],
    separating: true,
  },
  compressor_wash: {
    stage: 'measure',
    instruction:
      'Where the maker provides a compressor wash, wash at the stated load and compare the same load before and after: recovery means fouling.',
    measure: { quantity: 'boost gained by the wash', unit: 'kPa' },
    accept: { good: 'boost and outlet temperature back at this unit’s clean values' },
    cautions: ['wash_method', 'running', 'cleaning'],
  },
  compressor_open: {
    stage: 'open',
    instruction:
      'Inlet pipe off: look at blade edges, hub and housing for nicks, erosion, oil film and rub marks; turn the rotor by hand.',
    tool: 'torch, mirror or borescope',
    accept: { good: 'edges whole, no rub, dry' },
    cautions: ['stopped', 'hot', 'open_intake'],
  },
  oil_upstream: {
    stage: 'open',
    instruction:
      'Take off a boost pipe at its lowest point and at the cooler inlet: oil there comes from upstream and will foul the cooler again.',
    measure: { quantity: 'oil drained', unit: 'mL' },
    accept: { practice: 'a thin film is usual; free oil is not' },
    cautions: ['stopped', 'runaway', 'hot'],
  },
  drain_receiver: {
    stage: 'look_and_listen',
    instruction:
      'Open the receiver and cooler drains one after the other and see what runs: nothing, condensate, coolant, seawater or oil.',
    tool: 'container, test strips for chloride or coolant',
    measure: { quantity: 'liquid drained', unit: 'mL' },
    accept: { good: 'no more than humid air explains, not salty, no coolant, drain runs free' },
    cautions: ['stopped', 'hydraulic_lock'],
    fits: isWaterCooled,
    separating: true,
  },
} as const satisfies Record<string, Step>;
