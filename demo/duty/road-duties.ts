import type { Duty, Phase } from './duty.ts';

const idle: Phase = {
  name: 'idle',
  minutes: [1, 6],
  load: [0.03, 0.08],
  loadSd: [0.005, 0.01],
  kmh: [0, 0],
  weight: 1,
};

/** Motorway at a set speed, with hills; few stops. */
export const longHaul: Duty = {
  order: 'random',
  phases: [
    {
      name: 'level',
      minutes: [5, 22],
      speedShare: [0.62, 0.68],
      load: [0.34, 0.5],
      loadSd: [0.006, 0.045],
      kmh: [82, 88],
      weight: 9,
    },
    {
      name: 'rolling',
      minutes: [5, 15],
      speedShare: [0.62, 0.7],
      load: [0.3, 0.62],
      loadSd: [0.06, 0.12],
      kmh: [78, 88],
      weight: 5,
    },
    {
      name: 'climb',
      minutes: [2, 7],
      speedShare: [0.64, 0.78],
      load: [0.88, 1],
      loadSd: [0.004, 0.02],
      kmh: [45, 75],
      climb: 32,
      weight: 3.2,
    },
    {
      name: 'long rise',
      minutes: [3, 9],
      speedShare: [0.63, 0.7],
      load: [0.6, 0.8],
      loadSd: [0.008, 0.03],
      kmh: [75, 86],
      climb: 12,
      weight: 2.5,
    },
    {
      name: 'descent',
      minutes: [2, 7],
      speedShare: [0.62, 0.85],
      load: [-0.1, -0.05],
      loadSd: [0.01, 0.02],
      kmh: [70, 88],
      climb: -32,
      weight: 3.4,
    },
    {
      name: 'junction',
      minutes: [1, 4],
      speedShare: [0.5, 0.75],
      load: [0.1, 0.7],
      loadSd: [0.15, 0.25],
      kmh: [15, 60],
      weight: 2,
    },
    idle,
  ],
  shifts: [
    { startHour: 4.5, hours: 4.4 },
    { startHour: 9.7, hours: 4.3 },
  ],
  saturday: false,
  sunday: false,
  rampS: 9,
  swingS: 45,
  speedSd: 7,
};

/** The same work by night, out of the evening and back. */
export const nightHaul: Duty = {
  ...longHaul,
  shifts: [
    { startHour: 0.4, hours: 4 },
    { startHour: 18.2, hours: 4.4 },
  ],
  saturday: true,
};

/** A pass: steady climb of some 1400 m, a rest at the top, and down again. Put into the second shift of some days. */
export const mountainPass: readonly Phase[] = [
  {
    name: 'approach',
    minutes: [20, 25],
    speedShare: [0.63, 0.67],
    load: [0.4, 0.5],
    loadSd: [0.01, 0.03],
    kmh: [80, 86],
  },
  {
    name: 'pass climb',
    minutes: [20, 22],
    speedShare: [0.66, 0.74],
    load: [0.9, 0.98],
    loadSd: [0.006, 0.02],
    kmh: [38, 48],
    climb: 33,
  },
  {
    name: 'pass climb',
    minutes: [20, 22],
    speedShare: [0.66, 0.74],
    load: [0.82, 0.95],
    loadSd: [0.006, 0.02],
    kmh: [38, 48],
    climb: 33,
  },
  { name: 'rest', minutes: [4, 6], load: [0.03, 0.06], loadSd: [0.005, 0.01], kmh: [0, 0] },
  {
    name: 'pass level',
    minutes: [8, 12],
    speedShare: [0.62, 0.66],
    load: [0.35, 0.5],
    loadSd: [0.008, 0.02],
    kmh: [70, 80],
  },
  {
    name: 'pass descent',
    minutes: [38, 42],
    speedShare: [0.7, 0.85],
    load: [-0.1, -0.05],
    loadSd: [0.01, 0.02],
    kmh: [50, 65],
    climb: -34,
  },
];

/** Towns and country roads with deliveries. */
export const regional: Duty = {
  ...longHaul,
  phases: [
    {
      name: 'country',
      minutes: [3, 12],
      speedShare: [0.55, 0.68],
      load: [0.25, 0.5],
      loadSd: [0.012, 0.08],
      kmh: [55, 78],
      weight: 7,
    },
    {
      name: 'rise',
      minutes: [2, 5],
      speedShare: [0.6, 0.75],
      load: [0.75, 1],
      loadSd: [0.006, 0.03],
      kmh: [40, 65],
      climb: 25,
      weight: 2.6,
    },
    {
      name: 'fall',
      minutes: [2, 5],
      speedShare: [0.55, 0.75],
      load: [-0.1, -0.05],
      loadSd: [0.01, 0.02],
      kmh: [40, 70],
      climb: -25,
      weight: 2.6,
    },
    {
      name: 'town',
      minutes: [3, 9],
      speedShare: [0.4, 0.7],
      load: [0.08, 0.5],
      loadSd: [0.12, 0.22],
      kmh: [8, 45],
      weight: 6,
    },
    { ...idle, weight: 2 },
  ],
  shifts: [
    { startHour: 5.3, hours: 2.4 },
    { startHour: 8.4, hours: 2.6 },
    { startHour: 12, hours: 2.7 },
  ],
};

/** Stop to stop: hardly ever steady. */
export const cityBus: Duty = {
  ...longHaul,
  phases: [
    { name: 'stop', minutes: [0.3, 0.7], load: [0.06, 0.12], loadSd: [0.005, 0.01], kmh: [0, 0] },
    {
      name: 'pull away',
      minutes: [0.2, 0.4],
      speedShare: [0.6, 0.8],
      load: [0.7, 1],
      loadSd: [0.02, 0.08],
      kmh: [15, 35],
    },
    {
      name: 'street',
      minutes: [0.5, 1.6],
      speedShare: [0.5, 0.64],
      load: [0.15, 0.42],
      loadSd: [0.01, 0.06],
      kmh: [28, 48],
    },
    {
      name: 'slow down',
      minutes: [0.2, 0.4],
      speedShare: [0.4, 0.55],
      load: [-0.1, -0.05],
      loadSd: [0.01, 0.03],
      kmh: [5, 25],
    },
  ],
  order: 'cycle',
  shifts: [
    { startHour: 4, hours: 4.2 },
    { startHour: 9, hours: 3.2 },
    { startHour: 13.5, hours: 4.6 },
  ],
  saturday: true,
  sunday: true,
  rampS: 4,
  swingS: 15,
};

/** Quarry to site: loaded up the ramp, empty back. */
export const tipper: Duty = {
  ...longHaul,
  phases: [
    { name: 'loading', minutes: [4, 8], load: [0.04, 0.08], loadSd: [0.005, 0.01], kmh: [0, 0] },
    {
      name: 'ramp',
      minutes: [3, 6],
      speedShare: [0.65, 0.8],
      load: [0.9, 1],
      loadSd: [0.005, 0.025],
      kmh: [18, 30],
      climb: 20,
    },
    {
      name: 'loaded road',
      minutes: [5, 11],
      speedShare: [0.6, 0.72],
      load: [0.45, 0.75],
      loadSd: [0.012, 0.08],
      kmh: [45, 68],
    },
    {
      name: 'tipping',
      minutes: [2, 4],
      speedShare: [0.45, 0.55],
      load: [0.15, 0.3],
      loadSd: [0.01, 0.03],
      kmh: [0, 2],
    },
    {
      name: 'empty road',
      minutes: [5, 10],
      speedShare: [0.55, 0.68],
      load: [0.15, 0.32],
      loadSd: [0.012, 0.08],
      kmh: [50, 72],
    },
    {
      name: 'ramp down',
      minutes: [3, 5],
      speedShare: [0.6, 0.8],
      load: [-0.1, -0.05],
      loadSd: [0.01, 0.02],
      kmh: [20, 30],
      climb: -20,
    },
  ],
  order: 'cycle',
  shifts: [
    { startHour: 5, hours: 3.8 },
    { startHour: 9.6, hours: 4 },
  ],
  saturday: true,
};
