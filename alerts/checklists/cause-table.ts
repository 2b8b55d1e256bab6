import { type CauseFacts, cause } from './cause-facts.ts';
import { SENSOR_CAUSES } from './sensor-cause-table.ts';
import type { StepId } from './steps.ts';

const BOOST_SENSOR: readonly StepId[] = ['sensor_boost_standstill'];
const AIR_FLOW: readonly StepId[] = ['read_codes', 'read_log', ...BOOST_SENSOR, 'look_whole', 'drive_load'];
const LEAK: readonly StepId[] = [
  ...AIR_FLOW,
  'boost_listen',
  'receiver_doors',
  'filter_drop',
  'boost_soap',
  'boost_hold',
  'boost_joints_open',
];
const COOLER: readonly StepId[] = [
  'read_codes',
  'read_log',
  'sensor_temperature_standstill',
  'cooler_temperatures',
  'medium_temperature',
  'cooler_drop',
  'water_rise',
];
const CONTROL: readonly StepId[] = [
  ...AIR_FLOW,
  'actuator_command',
  'actuator_line',
  'actuator_travel',
  'manifold_pressure',
];

/**
 * Causes by the ids of the fault-symptom matrix, with their codes and steps.
 * Codes after ISO 14224:2016; mechanisms 3.3, 3.4, 5.1, 5.2 and the modes are from memory of it, the rest were seen.
 */
export const CAUSES: Readonly<Record<string, CauseFacts>> = {
  boost_leak_after_cooler: cause('boost air leak between cooler and cylinders', ['LOO', '1.1'], LEAK),
  boost_leak_before_cooler: cause(
    'boost air leak between compressor and cooler',
    ['LOO', '1.1'],
    [...LEAK, 'cooler_drop'],
  ),
  intake_restriction: cause(
    'air filter or intake duct restricted',
    ['PLU', '5.1'],
    [...AIR_FLOW, 'filter_indicator', 'filter_drop', 'filter_element'],
  ),
  cac_air_side_fouled: cause(
    'charge-air cooler fouled on the charge-air side',
    ['IHT', '5.2'],
    [...COOLER, 'drain_receiver', 'air_side_clean', 'oil_upstream'],
  ),
  cac_coolant_side_fouled: cause(
    'charge-air cooler fouled on the cooling side',
    ['IHT', '5.1'],
    [
      ...COOLER,
      'cooler_face',
      'road_fan',
      'cooler_face_clean',
      'water_others',
      'strainer',
      'strainer_open',
      'water_side_clean',
    ],
  ),
  coolant_flow_low: cause(
    'too little coolant or seawater through the charge-air cooler',
    ['IHT', '5.1'],
    [...COOLER, 'water_others', 'strainer', 'pump_check', 'strainer_open'],
  ),
  coolant_hot: cause(
    'cooling medium too hot, cooler itself sound',
    ['PDE', '6.3'],
    [
      'read_codes',
      'check_ambient',
      'medium_temperature',
      'water_others',
      'road_fan',
      'engine_room_air',
      'strainer',
      'cooler_temperatures',
    ],
  ),
  cac_internal_leak: cause(
    'charge-air cooler leaks between water and charge air',
    ['INL', '1.1'],
    ['read_codes', 'read_log', 'coolant_loss', 'drain_receiver', 'turn_cocks_open', 'cooler_pressure_test'],
  ),
  cac_air_side_flooded: cause(
    'condensate drain choked, water in the cooler casing',
    ['PLU', '5.1'],
    ['read_codes', 'read_log', 'drain_receiver', 'turn_cocks_open', 'cooler_drop', 'cylinder_spread', 'drain_clear'],
  ),
  wastegate_stuck_open: cause(
    'wastegate stuck open or leaking by',
    ['LOO', '1.6'],
    [...CONTROL, 'soot_look', 'outlet_temperature', 'gate_seat'],
  ),
  wastegate_stuck_closed: cause(
    'wastegate stuck closed, line leaking or control tampered with',
    ['HIO', '1.6'],
    [...CONTROL, 'check_parameters', 'gate_seat'],
  ),
  vgt_stuck_open: cause('variable nozzle stuck open', ['LOO', '1.6'], [...CONTROL, 'vanes_open']),
  vgt_stuck_closed: cause(
    'variable nozzle stuck closed',
    ['HIO', '1.6'],
    [...CONTROL, 'check_parameters', 'vanes_open'],
  ),
  compressor_fouled: cause(
    'compressor fouled, eroded or damaged',
    ['LOO', '5.2'],
    [
      ...AIR_FLOW,
      'turbine_wash',
      'compressor_listen',
      'filter_indicator',
      'filter_drop',
      'compressor_efficiency',
      'compressor_wash',
      'compressor_open',
    ],
  ),
  turbine_efficiency_loss: cause(
    'turbine worn, eroded or damaged',
    ['LOO', '2.3'],
    [
      ...AIR_FLOW,
      'turbine_wash',
      'compressor_listen',
      'soot_look',
      'actuator_command',
      'outlet_temperature',
      'manifold_pressure',
      'turbine_open',
      'shaft_spin',
    ],
  ),
  nozzle_fouled: cause(
    'turbine nozzle ring or volute fouled',
    ['PDE', '5.2'],
    [...AIR_FLOW, 'turbine_wash', 'manifold_pressure', 'outlet_temperature', 'turbine_open'],
  ),
  exhaust_leak_before_turbine: cause(
    'exhaust gas leak before the turbine',
    ['ELU', '1.1'],
    [...AIR_FLOW, 'sensor_exhaust_standstill', 'soot_look', 'manifold_pressure', 'exhaust_smoke_test', 'exhaust_joint'],
  ),
  exhaust_back_pressure_high: cause(
    'exhaust back pressure high',
    ['PLU', '5.1'],
    [...AIR_FLOW, 'sensor_exhaust_standstill', 'back_pressure', 'outlet_temperature', 'exhaust_way'],
  ),
  bearing_wear_or_rub: cause(
    'turbocharger bearing wear, drag or wheel rub',
    ['VIB', '2.4'],
    [
      'read_codes',
      'read_log',
      'look_whole',
      'compressor_listen',
      'oil_level',
      'soot_look',
      'oil_debris',
      'oil_outlet_temperature',
      'oil_pressure_turbo',
      'shaft_spin',
      'shaft_play',
      'shaft_radial',
    ],
  ),
  oil_supply_low: cause(
    'oil supply to engine or turbocharger low',
    ['LBP', '5.1'],
    [
      'read_codes',
      'read_log',
      'sensor_oil_gauge',
      'oil_level',
      'oil_pressure_hot',
      'oil_pressure_turbo',
      'oil_debris',
      'oil_line_open',
      'oil_pump_open',
    ],
  ),
  oil_drain_restricted_or_seal_leak: cause(
    'oil drain restricted, crankcase pressure high or seals passing oil',
    ['INL', '5.1'],
    [
      'read_codes',
      'read_log',
      'look_whole',
      'oil_level',
      'filter_drop',
      'crankcase_pressure',
      'oil_upstream',
      'oil_drain',
      'seal_rerun',
    ],
  ),
  fuel_delivery_low: cause(
    'less fuel delivered than commanded or metered',
    ['LOO', '5.1'],
    ['read_codes', 'check_derate', 'read_log', 'drive_load', 'fuel_supply', 'fuel_balance', 'fuel_filter'],
  ),
  injection_late: cause(
    'injection late',
    ['PDE', '3.4'],
    ['read_codes', 'read_log', 'sensor_exhaust_standstill', 'drive_load', 'cylinder_spread', 'timing', 'injectors'],
  ),
  overfuelling_or_injector_leak: cause(
    'over-fuelling or dripping injector',
    ['HIO', '2.4'],
    [
      'read_codes',
      'read_log',
      'check_parameters',
      'sensor_exhaust_standstill',
      'look_whole',
      'cylinder_spread',
      'fuel_balance',
      'injectors',
    ],
  ),
  volumetric_efficiency_loss: cause(
    'valves, ports or rings: cylinders breathe less',
    ['LOO', '2.4'],
    [
      ...AIR_FLOW,
      'sensor_exhaust_standstill',
      'cylinder_spread',
      'crankcase_pressure',
      'compression',
      'ports_open',
      'blower_flaps',
    ],
  ),
  egr_excess: cause(
    'exhaust recirculation valve stuck open or its cooler fouled',
    ['HIO', '1.6'],
    ['read_codes', 'read_log', 'sensor_temperature_standstill', 'egr_compare', 'egr_valve'],
  ),
  ...SENSOR_CAUSES,
  high_altitude_or_hot_ambient: cause('thin or hot air, no fault', undefined, [
    'read_codes',
    'check_ambient',
    'sensor_temperature_standstill',
    'drive_load',
  ]),
  engine_derate: cause('controller limits fuel or boost on purpose', undefined, [
    'read_codes',
    'check_derate',
    'read_log',
    'drive_load',
  ]),
  unknown: cause('something else than the listed causes', undefined, [
    'read_codes',
    'read_log',
    'sensor_wiring',
    'look_whole',
    'drive_load',
    'outlet_temperature',
  ]),
};
