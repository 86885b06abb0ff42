/** A drill's numbers in words: its quantity may be an angle, a time, or a ratio, known all the way or once a swing. */
import type { Quantity, Unit } from '../wire/types.gen';

/** Known once a swing, at the top or after the ball: nothing to show or hear on the way. */
export type EndQuantity = 'arm_length' | 'shaft_length' | 'backswing_time' | 'tempo';
const UNITS: Readonly<Record<EndQuantity, Unit>> = { arm_length: 'deg', shaft_length: 'deg', backswing_time: 's', tempo: 'ratio' };

export function isOfWholeSwing(quantity: Quantity): quantity is EndQuantity {
  return Object.hasOwn(UNITS, quantity);
}

export function unitOf(quantity: Quantity): Unit {
  return isOfWholeSwing(quantity) ? UNITS[quantity] : 'deg';
}

/** Quantities whose sign carries no meaning to a player. */
const PLAIN: readonly Quantity[] = ['shaft_pitch', 'arm_length', 'backswing_time', 'tempo'];

/** The bare number as it is shown: whole degrees, hundredths of a second, tenths of a ratio; a true minus sign. */
export function numberOf(value: number, quantity: Quantity): string {
  const digits = { deg: 0, s: 2, ratio: 1 }[unitOf(quantity)];
  const text = Math.abs(value).toFixed(digits);
  const zero = Number(text) === 0;
  const sign = zero ? '' : value < 0 ? '−' : PLAIN.includes(quantity) ? '' : '+';
  return sign + text;
}

/** What stands after the number. */
export function unitMark(quantity: Quantity): string {
  return { deg: '°', s: ' s', ratio: ' to 1' }[unitOf(quantity)];
}

export function amountWords(value: number, quantity: Quantity): string {
  return numberOf(value, quantity) + unitMark(quantity);
}

/** How far past an edge, never said to be nothing. */
export function excessWords(excess: number, quantity: Quantity): string {
  const unit = unitOf(quantity);
  if (unit === 'deg') return `${Math.max(1, Math.round(excess))}°`;
  return unit === 's' ? `${Math.max(0.01, excess).toFixed(2)} s` : Math.max(0.1, excess).toFixed(1);
}
