/** The sensors: where they are worn, how they fare, which is which. */
import type { LinkReason, LinkState, Role } from '../wire/types.gen';

export const ROLE_WORDS: Readonly<Record<Role, string>> = {
  forearm: 'Forearm',
  club: 'Club',
  lead_upper_arm: 'Lead upper arm',
  trail_forearm: 'Trail forearm',
  pelvis: 'Pelvis',
  spare: 'Not worn'
};

export function bothWords(one: Role, other: Role): string {
  return `${ROLE_WORDS[one]} and ${ROLE_WORDS[other].toLowerCase()}`;
}

/** The places that the angles are computed from. */
export const PAIR: readonly Role[] = ['forearm', 'club'];

export function linkWords(state: LinkState, reason: LinkReason): string {
  if (state === 'streaming') return reason === 'silent' ? 'silent' : 'sending';
  return { searching: 'searching', connecting: 'connecting', lost: 'link lost', stopped: reason === 'end_of_recording' ? 'recording over' : 'stopped' }[state];
}

export const CHOOSING_TITLE = 'Which sensor is where?';
export const ELSEWHERE = 'Elsewhere…';
export const CHOOSE_NOW = 'Choose mine now';
export const BLINK = 'Blink';
export const START = 'Start with these';
export const NOT_READY = 'Give forearm and club a sensor first';
export const MOVING = 'moving';
export function sensorName(address: string): string {
  return `Sensor ${address.slice(-5)}`;
}
export function movingWords(name: string): string {
  return `${name} is moving.`;
}
export function whereWorn(name: string): string {
  return `Where ${name} is worn`;
}
export function wornElsewhere(name: string): string {
  return `${name} worn elsewhere`;
}
export function batteryWords(pct: number | null): string {
  return pct === null ? 'battery not known' : `battery ${pct} %`;
}

export const SENSORS_TITLE = 'Sensors';
export const NO_SENSOR = 'No sensor has reported yet.';
export const SENSORS_AWAY = 'Not known while the server is away.';
export function rateWords(rateHz: number): string {
  return `${Math.round(rateHz)} a second`;
}
export function unreadableWords(n: number): string {
  return `${n} unreadable`;
}
export function lostWords(nSamples: number, nLost: number | null): string {
  if (nLost === null) return 'loss unknown';
  const all = nSamples + nLost;
  if (all === 0 || nLost === 0) return 'none lost';
  const share = (100 * nLost) / all;
  return `${share < 0.1 ? '<0.1' : share.toFixed(1)} % lost`;
}
export function allFigures(hints: number): string {
  return hints > 0 ? `All figures, ${hints} to look at` : 'All figures';
}
export const OTHER_SENSORS = 'Other sensors';
export const SWAP = 'Exchange forearm and club';

export function reasonWords(reason: LinkReason): string {
  return reason === 'none' ? 'lost' : reason.replaceAll('_', ' ');
}
