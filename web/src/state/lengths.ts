/** How long the lead arm and each club are, as this browser remembers them; told to the server, which keeps them with the practice. */
import { loadByName, loadSetting, saveSetting } from '../settings';
import type { LiveState } from './live.svelte';

export interface Lengths {
  readonly clubM: number | null;
  readonly armM: number | null;
}

/** As wide as the server takes them. */
export const CLUB_M = [0.4, 1.5] as const;
export const ARM_M = [0.3, 1.1] as const;

function within(m: unknown, [least, most]: readonly [number, number]): number | null {
  return typeof m === 'number' && m >= least && m <= most ? m : null;
}

export function keptLengths(club: string): Lengths {
  const kept = loadByName<number>('club-lengths');
  return { clubM: within(Object.hasOwn(kept, club) ? kept[club] : null, CLUB_M), armM: within(Number(loadSetting('arm-length')), ARM_M) };
}

export function keepLengths(club: string, { clubM, armM }: Lengths): void {
  const kept = loadByName<number>('club-lengths');
  if (clubM === null) delete kept[club];
  else kept[club] = clubM;
  saveSetting('club-lengths', JSON.stringify(kept));
  saveSetting('arm-length', armM === null ? '' : String(armM));
}

/** A club is chosen; what is known of its length goes with it. */
export function takeClub(live: LiveState, club: string): void {
  live.chooseClub(club);
  const known = keptLengths(club);
  if (known.clubM !== null || known.armM !== null) live.tellLengths(known);
}
