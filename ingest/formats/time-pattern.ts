import { civilMs } from './civil-time.ts';

const FIELDS = ['YYYY', 'MM', 'DD', 'HH', 'mm', 'ss', 'SSS'] as const;
type Field = (typeof FIELDS)[number];

/**
 * Compiles a pattern of YYYY MM DD HH mm ss SSS, such as `DD.MM.YYYY HH:mm:ss`, in which every other character stands
 * for itself.
 *
 * @returns A reader from text to local milliseconds (without zone; NaN when the text does not follow the pattern or
 *   there is no such date), or `undefined` when the pattern lacks the date, the hour or the minute, or repeats a field.
 */
export function compileTimePattern(pattern: string): ((text: string) => number) | undefined {
  const order: Field[] = [];
  const source = pattern.replaceAll(/YYYY|MM|DD|HH|mm|ss|SSS|[^A-Za-z0-9]|[A-Za-z0-9]/g, (piece) => {
    const field = FIELDS.find((name) => name === piece);
    if (field === undefined) return piece.replaceAll(/[\\^$.*+?()[\]{}|/-]/g, '\\$&');
    order.push(field);
    return `(\\d{${field.length}})`;
  });
  const needed: readonly Field[] = ['YYYY', 'MM', 'DD', 'HH', 'mm'];
  if (new Set(order).size !== order.length || needed.some((field) => !order.includes(field))) return undefined;
  const expression = new RegExp(`^${source}$`);
  return (text) => {
    const found = expression.exec(text.trim());
    if (found === null) return Number.NaN;
    const field = (name: Field) => Number(found[order.indexOf(name) + 1] ?? 0);
    return civilMs({
      year: field('YYYY'),
      month: field('MM'),
      day: field('DD'),
      hour: field('HH'),
      minute: field('mm'),
      second: order.includes('ss') ? field('ss') : 0,
      millisecond: order.includes('SSS') ? field('SSS') : 0,
    });
  };
}
