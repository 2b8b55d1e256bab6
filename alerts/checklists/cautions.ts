import { COOLERS, type Unit } from '../../schemas/unit.ts';

/** Warnings that belong to single steps. Facts of the trade; sources stand beside those that have one. */
export const STEP_CAUTIONS = {
  stopped: 'Engine stopped, start and turning gear locked off and tagged before you reach in.',
  hot: 'Casings, manifold and pipes stay above 60 °C long after a stop and pass 400 °C in service: let them cool, wear gloves.',
  // Parts drawn into an open intake: TM 5-3805-280-24-2 and TM 5-3810-303-24, section 11D.
  open_intake:
    'Never run the engine with the intake open: fit a guard, and keep hands, rags, tools and loose covers clear; the compressor draws them in.',
  running: 'Engine running: keep clear of fan, belts, shafts and hot parts; no loose clothing; hearing protection.',
  pressurised:
    'Compressed air can burst a loose cap: tie the caps down, fit a relief valve, stand clear of the ends, wear eye protection.',
  // Suction-side test covers must come off before a start: TM 5-3805-280-24-2.
  test_covers: 'Count the test covers in and out: every one must be off before the next start.',
  exhaust_gas: 'Exhaust gas holds carbon monoxide: ventilate, carry a gas alarm, do not work alone in a closed space.',
  fuel_spray:
    'Fuel under injection pressure goes through skin: never feel for a leak by hand; relieve the pressure first. Injected skin is an emergency.',
  hot_coolant: 'Coolant and oil scald: relieve the pressure cold, open caps slowly.',
  seawater_valves:
    'Close and tag both seawater valves, then open the drain slowly: a valve that does not hold floods the space. Watch the bilge.',
  cleaning:
    'Washing fluids and deposits harm eyes, skin and lungs: goggles, gloves, and the maker’s data sheet; catch what runs off.',
  hydraulic_lock:
    'Water or oil may stand on a piston: open the indicator cocks or remove the injectors before the engine is turned, and turn by hand first.',
  runaway:
    'Oil in the intake can feed the engine by itself: do not start before ducts and cooler are clear, and know how to shut off its air.',
  oil_feed: 'Do not run the turbocharger without proven oil pressure; stop at once if the gauge does not come up.',
  actuator:
    'An actuator can move by itself when air or power returns: vent the line and unplug it before fingers go in.',
  wash_method:
    'Wash only by the engine maker’s method, fluid and load: water on a hot wheel at the wrong speed breaks blades.',
  lifting: 'A core or turbocharger is heavy and swings: rated gear, a second person, nobody under the load.',
  relagging: 'Put lagging and shields back before the start: oil or fuel on a bare exhaust burns.',
  blower:
    'Auxiliary blowers start by themselves as scavenge pressure falls: lock them off before a scavenge door is opened.',
  electrical: 'Switch the supply off before a plug is parted; a live sensor line can set the governor to full fuel.',
} as const;

export type StepCaution = keyof typeof STEP_CAUTIONS;

/**
 * What holds before any step of a task on this unit: stopping, isolating, cooling, relieving, and what is peculiar to
 * a vessel, a vehicle, a two-stroke or a water-cooled charge-air cooler.
 *
 * @param unit - As the fleet file describes it.
 * @returns Sentences in the order in which they are met. Common practice, and the safety notes of the makers' and
 *   military manuals behind the trade; never complete, and never above the engine maker's limits or local codes.
 */
export function generalCautions(unit: Unit): string[] {
  const afloat = unit.kind === 'vessel';
  const enclosed = afloat || unit.kind === 'generator';
  const water = unit.engine.cooler !== 'air_to_air';
  return [
    'The engine maker’s manual and limits, local codes and licensed practice come before this sheet. Work only within your competence.',
    afloat
      ? 'Tell the bridge. Stop the engine, block remote and automatic start, shut the starting air and vent it, lock and tag; engage the turning gear and tag the shaft.'
      : unit.kind === 'generator'
        ? 'Take the set off automatic start, stop it, open and lock its breaker, isolate the starting battery or air, tag.'
        : 'Level ground, parking brake on, wheels chocked, raised bodies, cabs and attachments propped. Stop, keep the key, isolate the battery, tag.',
    'Let hot parts cool: exhaust casings pass 400 °C in service and keep their heat long after a stop.',
    'Relieve the pressure of air, oil, water and fuel before anything is loosened.',
    ...(enclosed
      ? [
          'Engine space: ventilation on, air checked, a second person at the door, and the permit that your rules ask for.',
        ]
      : ['Run the engine only outdoors or with exhaust extraction.']),
    'Naked flame, grinding or welding only with a hot-work permit, with oil and fuel wiped up and an extinguisher at hand.',
    'Never run the engine with the intake open: fit a guard, and keep hands, rags and loose covers clear; parts are drawn in.',
    'After oil has reached the intake do not start before the ducts are clear, and know how to shut off the engine’s air: an engine can run away on its own oil.',
    ...(unit.engine.cooler === 'seawater'
      ? ['Seawater side: close and tag both valves, open the drain slowly, and expect a valve that does not hold.']
      : water
        ? [`Cooler circuit (${COOLERS[unit.engine.cooler]}): shut it off and relieve it cold; hot coolant scalds.`]
        : []),
    ...(unit.engine.strokes === 2
      ? [
          'Two-stroke: after a stop for a hot spot or a scavenge fire keep doors and covers shut until it has cooled for the time the maker states; fresh air can set it off. Lock off blowers that start by themselves.',
        ]
      : []),
    'Put guards, shields and lagging back before the start; oil or fuel on a bare exhaust burns.',
  ];
}
