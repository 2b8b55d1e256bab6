import { expect, test } from 'vitest';
import { nameFits } from './find-rule.ts';
import { sniffRule } from './sniff.ts';

test('* stands for any run of characters and every other sign for itself', () => {
  expect(nameFits('truck-7_*.csv', 'truck-7_2024-05-01.csv')).toBe(true);
  expect(nameFits('truck-7_*.csv', 'TRUCK-7_.CSV')).toBe(true);
  expect(nameFits('truck-7_*.csv', 'truck-7_a.csv.bak')).toBe(false);
  expect(nameFits('a.csv', 'aXcsv')).toBe(false);
  expect(nameFits('log (1)*[x].csv', 'log (1)-2[x].csv')).toBe(true);
  expect(nameFits('*', '')).toBe(true);
});

test('a pattern full of stars is answered at once', () => {
  expect(nameFits(`${'*a'.repeat(12)}b`, 'a'.repeat(60))).toBe(false);
});

const sniff = (text: string, unit: string | undefined = 'truck-1') =>
  sniffRule({ head: new TextEncoder().encode(text), name: 'x', unit });

test('a self-describing table tells its delimiter, time format, units and unit column', () => {
  expect(sniff('\uFEFF"time";"engineSpeed";"oilPressure [bar]";other\n1714521600;900,5;3,2;x\n')).toMatchObject({
    format: 'csv_wide',
    delimiter: ';',
    decimal: ',',
    time: { column: 'time', format: 'epoch_seconds' },
    columns: { engineSpeed: { column: 'engineSpeed' }, oilPressure: { column: 'oilPressure [bar]', unit: 'bar' } },
  });
  expect(
    sniffRule({
      head: new TextEncoder().encode('time,unit,engineSpeed\n2024-05-01T00:00:00Z,a,1\n'),
      name: 'x',
      unit: undefined,
    }),
  ).toMatchObject({ unitColumn: 'unit', time: { format: 'iso8601' } });
  expect(sniff('t,fuelRate\n1714521600000,3\n')).toMatchObject({ time: { format: 'epoch_milliseconds' } });
});

test('a file that does not describe itself is left alone', () => {
  for (const text of ['', 'a,b\n1,2\n', 'engineSpeed\n1\n', 'time\n1\n', 'no table at all'])
    expect(sniff(text)).toBeUndefined();
});
