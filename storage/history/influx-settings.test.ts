import { describe, expect, test } from 'vitest';
import { parseInfluxUrl } from './influx-settings.ts';

describe('the address of a history', () => {
  test('names server, bucket and organization', () => {
    expect(parseInfluxUrl('influx+https://db:8086/points?org=shore')).toEqual({
      url: 'https://db:8086',
      bucket: 'points',
      org: 'shore',
    });
    expect(parseInfluxUrl('influx+http://db')).toEqual({ url: 'http://db', bucket: 'chargeair', org: 'chargeair' });
  });

  test.each(['influx://db:8086', 'influx+http://', 'influx+http://u:p@db:8086/b', 'influx+http://db/b?token=x'])(
    '%s is answered with a sentence',
    (address) => {
      expect(parseInfluxUrl(address)).toMatch(/\.$/);
    },
  );
});
