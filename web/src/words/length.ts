/** Lengths in the reader's units. Inside they are metres; angles are degrees everywhere. */
import type { Units } from '../state/units.svelte';
import { NO_VALUE } from './common';

/** Exact since the international yard and pound agreement of 1959. */
export const M_PER_INCH = 0.0254;
const INCHES_PER_FOOT = 12;
/** From here on a reader thinks in feet. */
const FEET_FROM_INCHES = 36;

export const UNITS_TITLE = 'Lengths in';
export const UNITS_WORDS: Readonly<Record<Units, string>> = { metric: 'Centimetres', imperial: 'Inches' };
export const UNIT_MARK: Readonly<Record<Units, string>> = { metric: 'cm', imperial: 'in' };

function inches(m: number): number {
  return m / M_PER_INCH;
}

/** How many centimetres or inches are a metre. */
export function perMetre(units: Units): number {
  return units === 'metric' ? 100 : 1 / M_PER_INCH;
}

/** As far as the eye needs it: whole centimetres or inches. */
function distance(m: number, units: Units, round: (n: number) => number): string {
  if (units === 'metric') return `${round(100 * m)} cm`;
  const whole = round(inches(m));
  if (whole < FEET_FROM_INCHES) return `${whole} in`;
  const rest = whole % INCHES_PER_FOOT;
  return `${Math.floor(whole / INCHES_PER_FOOT)} ft${rest === 0 ? '' : ` ${rest} in`}`;
}

/** Where the shaft line meets the ground; + is inside, toward the player. */
export function buttLineWords(m: number | null | undefined, units: Units): string {
  if (typeof m !== 'number') return NO_VALUE;
  const amount = distance(Math.abs(m), units, Math.round);
  return /^0 /.test(amount) ? 'on the ball line' : `${amount} ${m > 0 ? 'inside' : 'outside'}`;
}

/** One standard deviation, never said smaller than it is. */
export function lengthSpread(sdM: number | null | undefined, units: Units): string {
  return typeof sdM === 'number' ? `± ${distance(sdM, units, Math.ceil)}` : '';
}

/** The bare number for a field: millimetres, hundredths of an inch, without zeros that say nothing. */
export function lengthNumber(m: number | null, units: Units): string {
  if (m === null) return '';
  return units === 'metric' ? `${Number((100 * m).toFixed(1))}` : `${Number(inches(m).toFixed(2))}`;
}
export function lengthOf(text: string, units: Units): number | null {
  const number = Number(text.trim().replace(',', '.'));
  if (text.trim() === '' || !Number.isFinite(number)) return null;
  return number * (units === 'metric' ? 0.01 : M_PER_INCH);
}

export const BUTT_LINE_COLUMN = 'butt line, arm level';
export const BUTT_LINE_NOTE = 'Butt line: where the shaft line, carried past the butt, meets the ground at lead arm level, counted from the ball line; inside is toward the player. An estimate from the lengths of club and arm.';
export function buttLineSentence(m: number, sdM: number | null | undefined, units: Units): string {
  return `At lead arm level the shaft line meets the ground ${buttLineWords(m, units).replace(/(inside|outside)$/, '$1 the ball line')}${typeof sdM === 'number' ? `, ${lengthSpread(sdM, units)}` : ''}.`;
}

export const LENGTHS_TITLE = 'Lengths of club and arm';
export const LENGTHS_WHY = 'They place the butt line, and nothing else. Left empty, common ones are taken.';
export const CLUB_LENGTH = 'Club, butt to head';
export const ARM_LENGTH = 'Lead arm, shoulder to the middle of the hands';
export function lengthLabel(what: string, units: Units): string {
  return `${what}, ${UNIT_MARK[units]}`;
}
export function lengthFault(leastM: number, mostM: number, units: Units): string {
  const inUnits = (m: number): number => (units === 'metric' ? 100 * m : inches(m));
  return `Between ${Math.ceil(inUnits(leastM))} and ${Math.floor(inUnits(mostM))} ${UNIT_MARK[units]}, or nothing.`;
}
export const LENGTHS_DONE = 'Done';
export const LENGTHS_NOT_SENT = 'Not sent: the server does not answer.';
