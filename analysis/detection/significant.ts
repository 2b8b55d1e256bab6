/**
 * A number cut to so many significant digits: for what is kept in a unit's state, which must stay small. Rounded when it is
 * made, never when it is stored, so that a state read back is the state that was written.
 */
export function significant(value: number, digits: number): number {
  return Number(value.toPrecision(digits));
}
