import { hasBoostControl, isOnLand, type Step } from './step.ts';

/** Codes, log and sensors: what is read and proved before anybody takes up a spanner. Common practice, no source. */
export const FIRST_STEPS = {
  read_codes: {
    stage: 'codes_and_log',
    instruction:
      'Read the engine’s own active and stored trouble codes and torque limits. A code for the same signal comes first; a limited engine is short of boost on purpose.',
    tool: 'engine maker’s diagnostic tool or display',
    accept: { good: 'no active code for boost, temperature, oil pressure or a torque limit' },
  },
  read_log: {
    stage: 'codes_and_log',
    instruction:
      'Read the work log around the onset: filter, hoses, cooler, turbocharger, fuel or software touched? A step after a visit points at the visit; a slow slide points at fouling or wear.',
    accept: { good: 'no work near the onset explains it' },
  },
  check_parameters: {
    stage: 'codes_and_log',
    instruction:
      'Compare the control unit’s software and parameter check values with the records, and look at the seals.',
    tool: 'engine maker’s diagnostic tool',
    accept: { good: 'check values as recorded, seals whole' },
    fits: hasBoostControl,
    separating: true,
  },
  check_derate: {
    stage: 'codes_and_log',
    instruction:
      'Look for a stored torque or boost limit (temperature, exhaust after-treatment, idle shutdown) in the hours of the finding.',
    tool: 'engine maker’s diagnostic tool',
    accept: { good: 'no limit was active' },
    separating: true,
  },
  check_ambient: {
    stage: 'codes_and_log',
    instruction:
      'Compare ambient, engine-room and cooling-medium temperatures and the barometer of these hours with those before.',
    measure: { quantity: 'temperature of the air at the intake', unit: '°C' },
    accept: { good: 'the air and the cooling medium do not explain the departure' },
    separating: true,
  },
  sensor_boost_standstill: {
    stage: 'sensor',
    instruction:
      'Engine stopped and cold, supply on: read boost. A gauge reading is 0, an absolute one the barometer; a reading off by one whole barometer is a mixed-up reference.',
    tool: 'display or diagnostic tool, barometer',
    measure: { quantity: 'boost reading at standstill', unit: 'kPa' },
    accept: { practice: 'within 2 kPa of zero gauge' },
    separating: true,
  },
  sensor_boost_gauge: {
    stage: 'sensor',
    instruction: 'Tee a reference gauge into the manifold tapping and compare at idle and under load.',
    tool: 'reference pressure gauge',
    measure: { quantity: 'sensor minus reference gauge', unit: 'kPa' },
    accept: { practice: 'within 2 % of the sensor’s span' },
    cautions: ['running'],
  },
  sensor_temperature_standstill: {
    stage: 'sensor',
    instruction:
      'Engine cold-soaked overnight: the temperature sensors of charge air, ambient and coolant must agree with each other.',
    tool: 'display or diagnostic tool, thermometer',
    measure: { quantity: 'charge-air sensor minus ambient, cold', unit: 'K' },
    accept: { practice: 'within 3 K of each other' },
    separating: true,
  },
  sensor_exhaust_standstill: {
    stage: 'sensor',
    instruction:
      'Engine cold-soaked: the exhaust thermocouples must show ambient; warm each tip and see it follow. Look for a grounded or swapped pair.',
    tool: 'display, hot-air tool, continuity meter',
    measure: { quantity: 'exhaust sensor minus ambient, cold', unit: 'K' },
    accept: { practice: 'within 5 K of ambient' },
    cautions: ['hot'],
    separating: true,
  },
  sensor_oil_gauge: {
    stage: 'sensor',
    instruction:
      'Fit a reference gauge at the gallery and compare it with the sensor at idle and rated speed, oil hot.',
    tool: 'reference pressure gauge',
    measure: { quantity: 'sensor minus reference gauge', unit: 'kPa' },
    accept: { practice: 'within 2 % of the sensor’s span' },
    cautions: ['running', 'oil_feed', 'hot_coolant'],
    separating: true,
  },
  sensor_wiring: {
    stage: 'sensor',
    instruction:
      'Inspect plug, pins and loom of the suspected sensor; move the loom and watch the reading; measure supply and earth.',
    tool: 'multimeter',
    measure: { quantity: 'sensor supply', unit: 'V' },
    accept: { good: 'pins dry and tight, reading steady while the loom moves' },
    cautions: ['electrical'],
  },
  sensor_swap: {
    stage: 'measure',
    instruction: 'Swap the suspected sensor with a known good one and watch whether the departure goes with it.',
    tool: 'spare sensor',
    accept: { good: 'the departure stays with the engine, not with the sensor' },
    cautions: ['stopped', 'electrical'],
  },
  sensor_reference_setting: {
    stage: 'sensor',
    instruction:
      'Check whether the source and the sensor are entered as gauge or absolute in the fleet file, and where the barometer comes from.',
    accept: { good: 'the entry agrees with the sensor’s data plate' },
    separating: true,
  },
  tapping_line: {
    stage: 'sensor',
    instruction:
      'Follow the tapping line from pipe to sensor: cracked, kinked, blocked with soot or oil, or water in a low loop?',
    accept: { good: 'line clear and tight' },
    cautions: ['stopped', 'hot'],
  },
  look_whole: {
    stage: 'look_and_listen',
    instruction:
      'Walk round the engine stopped, then at idle: oil, soot, loose clamps, rubbed hoses, a new noise, the colour of the exhaust.',
    tool: 'torch, mirror',
    accept: { good: 'nothing loose, wet, sooty or new' },
    cautions: ['running', 'hot'],
  },
  drive_load: {
    stage: 'measure',
    instruction:
      'Repeat the load at which it was seen, warm and steady, and write down boost, temperatures, speed and fuel rate.',
    tool: 'display; reference gauge where there is one',
    measure: { quantity: 'boost at the load of the finding', unit: 'kPa' },
    accept: { limit: 'boostMaxKpa', good: 'as the expectation shown with this task' },
    cautions: ['running'],
  },
  road_fan: {
    stage: 'look_and_listen',
    instruction:
      'See that fan, clutch, belt and shrouds move the air, and that no tarpaulin, dirt screen or winter cover is in front of the core.',
    accept: { good: 'fan engages, nothing in front of the core' },
    cautions: ['running'],
    fits: isOnLand,
  },
} as const satisfies Record<string, Step>;
