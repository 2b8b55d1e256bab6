import { expect, test } from 'vitest';
import { geopotentialAltitudeM, pressureAltitudeM, standardAtmosphere } from './standard-atmosphere.ts';

test('a map height of 5000 m is a geopotential one of 4996 m (U.S. Standard Atmosphere 1976, table 1)', () => {
  expect(geopotentialAltitudeM(5000)).toBeCloseTo(4996, 0);
});

test('the tropopause has 22.632 kPa and 216.65 K (U.S. Standard Atmosphere 1976, table 1)', () => {
  const air = standardAtmosphere({ geopotentialAltitudeM: 11_000 });
  expect(air?.pressureAbsKpa).toBeCloseTo(22.632, 3);
  expect(air?.temperatureC).toBeCloseTo(-56.5, 10);
});

test('pressureAltitudeM undoes standardAtmosphere, below sea level too', () => {
  for (const altitudeM of [-400, 0, 1, 4800]) {
    const air = standardAtmosphere({ geopotentialAltitudeM: altitudeM });
    expect(pressureAltitudeM(air?.pressureAbsKpa ?? 0)).toBeCloseTo(altitudeM, 6);
  }
});

test('is undefined where the law of the lowest layer does not hold', () => {
  expect(standardAtmosphere({ geopotentialAltitudeM: 11_001 })).toBeUndefined();
  expect(standardAtmosphere({ geopotentialAltitudeM: Number.NaN })).toBeUndefined();
  expect(pressureAltitudeM(0)).toBeUndefined();
  expect(pressureAltitudeM(10)).toBeUndefined();
});
