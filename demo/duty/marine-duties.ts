import type { Duty, Phase } from './duty.ts';

const manoeuvre: Phase = {
  name: 'manoeuvre',
  minutes: [4, 9],
  speedShare: [0.42, 0.62],
  load: [0.08, 0.35],
  loadSd: [0.05, 0.12],
};

const vessel = { order: 'cycle', saturday: true, sunday: false, rampS: 25, swingS: 150, speedSd: 3 } as const;

/** Up and down a river between locks: hours of steady running. */
export const inlandCargo: Duty = {
  ...vessel,
  phases: [
    manoeuvre,
    { name: 'upstream', minutes: [80, 170], speedShare: [0.86, 0.94], load: [0.72, 0.86], loadSd: [0.006, 0.02] },
    { name: 'lock', minutes: [18, 35], load: [0.05, 0.1], loadSd: [0.005, 0.02] },
    { name: 'upstream', minutes: [60, 150], speedShare: [0.82, 0.9], load: [0.6, 0.76], loadSd: [0.006, 0.02] },
    manoeuvre,
    { name: 'canal', minutes: [50, 120], speedShare: [0.62, 0.72], load: [0.34, 0.46], loadSd: [0.008, 0.02] },
    { name: 'downstream', minutes: [60, 140], speedShare: [0.74, 0.82], load: [0.46, 0.58], loadSd: [0.006, 0.02] },
  ],
  shifts: [{ startHour: 4.5, hours: 13.5 }],
};

/** Berth to berth over the same sound, all day. */
export const ferry: Duty = {
  ...vessel,
  phases: [
    { name: 'leaving', minutes: [3, 5], speedShare: [0.5, 0.75], load: [0.2, 0.5], loadSd: [0.04, 0.08] },
    { name: 'crossing', minutes: [21, 27], speedShare: [0.89, 0.93], load: [0.74, 0.84], loadSd: [0.007, 0.018] },
    { name: 'arriving', minutes: [3, 6], speedShare: [0.4, 0.6], load: [0.1, 0.4], loadSd: [0.06, 0.12] },
    { name: 'at berth', minutes: [9, 15], load: [0.05, 0.09], loadSd: [0.005, 0.01] },
  ],
  shifts: [
    { startHour: 4.8, hours: 5.4 },
    { startHour: 11.5, hours: 5.6 },
  ],
  sunday: true,
};

/** Waits for hours, then pulls hard for minutes. */
export const harbourTug: Duty = {
  ...vessel,
  phases: [
    { name: 'standing by', minutes: [25, 70], load: [0.05, 0.1], loadSd: [0.005, 0.015] },
    { name: 'running out', minutes: [14, 28], speedShare: [0.72, 0.84], load: [0.42, 0.6], loadSd: [0.008, 0.03] },
    { name: 'making fast', minutes: [6, 12], speedShare: [0.42, 0.55], load: [0.08, 0.3], loadSd: [0.04, 0.1] },
    { name: 'pulling', minutes: [9, 24], speedShare: [0.93, 1], load: [0.85, 0.98], loadSd: [0.008, 0.05] },
    { name: 'running back', minutes: [14, 28], speedShare: [0.68, 0.8], load: [0.36, 0.52], loadSd: [0.008, 0.03] },
  ],
  shifts: [
    { startHour: 5, hours: 4.6 },
    { startHour: 13, hours: 4.8 },
  ],
  sunday: true,
};

/** Out to the ground, tow the gear, haul, tow again, home. */
export const fishing: Duty = {
  ...vessel,
  phases: [
    manoeuvre,
    { name: 'steaming', minutes: [90, 150], speedShare: [0.84, 0.92], load: [0.64, 0.78], loadSd: [0.008, 0.025] },
    { name: 'shooting', minutes: [12, 20], speedShare: [0.5, 0.65], load: [0.2, 0.4], loadSd: [0.03, 0.08] },
    { name: 'towing', minutes: [120, 190], speedShare: [0.72, 0.8], load: [0.72, 0.86], loadSd: [0.008, 0.025] },
    { name: 'hauling', minutes: [15, 25], speedShare: [0.5, 0.6], load: [0.2, 0.5], loadSd: [0.05, 0.1] },
    { name: 'towing', minutes: [120, 190], speedShare: [0.72, 0.8], load: [0.7, 0.84], loadSd: [0.008, 0.025] },
    { name: 'steaming', minutes: [90, 140], speedShare: [0.82, 0.9], load: [0.6, 0.74], loadSd: [0.008, 0.025] },
  ],
  shifts: [{ startHour: 2, hours: 12.5 }],
};

/** A coaster on short sea trips: long steady legs, two stages of charging. */
export const coaster: Duty = {
  ...vessel,
  phases: [
    manoeuvre,
    { name: 'at sea', minutes: [120, 260], speedShare: [0.88, 0.96], load: [0.74, 0.9], loadSd: [0.006, 0.022] },
    { name: 'slow', minutes: [30, 70], speedShare: [0.66, 0.76], load: [0.4, 0.52], loadSd: [0.008, 0.025] },
    { name: 'at sea', minutes: [90, 200], speedShare: [0.84, 0.92], load: [0.66, 0.8], loadSd: [0.006, 0.022] },
  ],
  shifts: [{ startHour: 3, hours: 14 }],
  sunday: true,
};
