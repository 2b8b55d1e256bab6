import type { UnitCard } from './fleet-unit.ts';

/** One card a unit of the demonstration. */
export const UNIT_CARDS: { readonly [unit: string]: UnitCard } = {
  'truck-07': { name: 'Truck 07', duty: 'long_haul', place: 'hallowmere', boostMaxKpa: 205, chargeAirMaxC: 85 },
  'truck-12': {
    name: 'Truck 12 (night run)',
    duty: 'long_haul',
    place: 'hallowmere',
    boostMaxKpa: 190,
    chargeAirMaxC: 85,
  },
  'truck-19': {
    name: 'Truck 19 (pass run)',
    duty: 'long_haul',
    place: 'hallowmere',
    boostMaxKpa: 225,
    chargeAirMaxC: 90,
  },
  'truck-23': { name: 'Truck 23', duty: 'regional', place: 'stenbrook', boostMaxKpa: 190, chargeAirMaxC: 85 },
  'tipper-04': { name: 'Tipper 04', duty: 'tipper', place: 'stenbrook', boostMaxKpa: 205, chargeAirMaxC: 95 },
  'bus-31': { name: 'Bus 31', duty: 'city_bus', place: 'stenbrook', boostMaxKpa: 185, chargeAirMaxC: 85 },
  'tug-1': { name: 'Tug Fennock', duty: 'tug', place: 'quillhaven', boostMaxKpa: 160, chargeAirMaxC: 115 },
  'cargo-2': {
    name: 'Cargo vessel Oddlemoor',
    duty: 'inland_cargo',
    place: 'tarnwick',
    boostMaxKpa: 210,
    chargeAirMaxC: 65,
  },
  'ferry-5': { name: 'Ferry Lissenby', duty: 'ferry', place: 'quillhaven', boostMaxKpa: 200, chargeAirMaxC: 65 },
  'trawler-9-port': {
    name: 'Fishing vessel Garrowmay, port engine',
    duty: 'fishing',
    place: 'quillhaven',
    boostMaxKpa: 195,
    chargeAirMaxC: 65,
  },
  'trawler-9-starboard': {
    name: 'Fishing vessel Garrowmay, starboard engine',
    duty: 'fishing',
    place: 'quillhaven',
    boostMaxKpa: 195,
    chargeAirMaxC: 65,
  },
  'coaster-3': {
    name: 'Coaster Pellowine',
    duty: 'inland_cargo',
    place: 'tarnwick',
    boostMaxKpa: 330,
    chargeAirMaxC: 65,
  },
};
