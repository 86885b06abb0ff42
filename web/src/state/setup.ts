/** Which step of the set-up is next: what is known already is not asked again. */
import { loadSetting } from '../settings';
import type { Move, SensorView } from '../wire/types.gen';
import type { LiveState } from './live.svelte';

export type Step = 'cautions' | 'pair' | 'trim' | 'club' | 'drill' | 'wear' | 'fit' | 'address';
/** What is done at the phone comes first, what is done in one's stance comes last and in one go. */
export const STEPS: readonly Step[] = ['cautions', 'pair', 'trim', 'club', 'drill', 'wear', 'fit', 'address'];

/** Moves of the fit in its order. The sensors lie still on the first one's table, so who knows them and wears them leaves it out. */
export const FIRST_MOVES: readonly Move[] = ['neutral', 'roll', 'twirl', 'locked', 'palm', 'address'];
/** Different sides that a calibration takes, and the time at rest before. */
export const N_SIDES = 6;

/** What this page itself has seen done in this practice. */
export interface Done {
  cautions: boolean;
  trim: boolean;
  club: boolean;
  drill: boolean;
  wear: boolean;
  fit: boolean;
  /** The moves are under way: the last one's signal is still to be heard. */
  led: boolean;
  /** All moves are wanted, though few would be enough. */
  all: boolean;
  address: boolean;
}

export function trimDue(sensors: readonly SensorView[]): readonly SensorView[] {
  return sensors.filter((sensor) => (sensor.role === 'forearm' || sensor.role === 'club') && (sensor.trim_due ?? '') !== '');
}

/** Who is remembered needs few; `all`: they want to make them all. */
export function missingMoves(live: LiveState, all: boolean): readonly Move[] {
  const taken = live.fit?.taken ?? [];
  if (live.fit?.known && !all) return live.fit.due ?? [];
  return FIRST_MOVES.filter((move) => !taken.includes(move));
}

/** Null when all is set up. */
export function nextStep(live: LiveState, done: Done): Step | null {
  const complete = live.fit?.complete === true;
  const pair = live.choosing?.open === true;
  // Who has swung already is asked only for what a swing cannot be measured without.
  if (live.reps.length > 0) return pair ? 'pair' : complete ? null : 'fit';
  const open: Record<Step, boolean> = {
    cautions: !done.cautions,
    pair,
    trim: !done.trim && trimDue(live.sensors).length > 0,
    club: !done.club && !live.hello?.player?.club && loadSetting('club') === null,
    drill: !done.drill && loadSetting('drill') === null && (live.hello?.drills?.length ?? 0) > 1,
    wear: !done.wear && loadSetting('worn-seen') === null,
    fit: !complete || done.led || (!done.fit && missingMoves(live, done.all).length > 0),
    address: !done.address
  };
  return STEPS.find((step) => open[step]) ?? null;
}

/** Plausible at address, for any player and club: common practice, no source. */
export const ADDRESS_PITCH_DEG = [38, 78] as const;
export const ADDRESS_BEND_DEG = [-50, 25] as const;

export type AddressFault = 'none' | 'not_there' | 'steep' | 'flat' | 'cupped' | 'bowed';

/** Whether the golfer stands to the ball as one does; what is wrong, else. */
export function addressFault(live: LiveState): AddressFault {
  const frame = live.frame;
  const pitch = frame?.shaft_pitch_deg ?? null;
  if (frame?.phase !== 'address' || pitch === null) return 'not_there';
  if (pitch < ADDRESS_PITCH_DEG[0]) return 'flat';
  if (pitch > ADDRESS_PITCH_DEG[1]) return 'steep';
  const bend = frame.bend_deg;
  if (bend !== null && bend < ADDRESS_BEND_DEG[0]) return 'cupped';
  if (bend !== null && bend > ADDRESS_BEND_DEG[1]) return 'bowed';
  return 'none';
}
