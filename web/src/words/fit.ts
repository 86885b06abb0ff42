/** The fit moves, and how well the fit knows each thing. */
import moves from '../../../shared/moves.json';
import type { Constant, Move } from '../wire/types.gen';

export const FIT_TITLE = 'Fit the sensors to you';
export const FIT_FEEL = 'Seven moves, about a minute. Tap, make the move, and be still until it says so.';

/** The texts stand in `shared/moves.json`, for what the terminal and the advice say as well. */
export interface FitStep {
  readonly move: Move;
  readonly title: string;
  /** What comes before it when one starts from nothing. */
  readonly first?: string;
  readonly how: string;
  /** A pose to be held, not a motion. */
  readonly held: boolean;
}

/** Said of every side of a calibration but the first. */
export const NEXT_SIDE = 'Next side';
export const FIT_ORDER = moves.full as readonly FitStep[];
export const FIT_MORE = moves.more as readonly FitStep[];

export const FIT_QUALITY_TITLE = 'How well the fit knows each thing';

export const CONSTANT_WORDS: Readonly<Record<Constant, string>> = {
  forearm_axis: 'Forearm’s long axis',
  forearm_roll: 'Forearm sensor’s roll about the arm',
  bend_axis: 'Wrist’s bend axis',
  hinge_axis: 'Wrist’s hinge axis',
  shaft: 'Shaft',
  clip_roll: 'Clip’s roll against the face at address',
  hand_club: 'Hand on the club'
};

/** Tenths: a fit is known to about a degree. */
export function withinWords(sdDeg: number): string {
  return `± ${sdDeg.toFixed(1)}°`;
}

export const FIT_MORE_TITLE = 'More accuracy (optional)';


/** The moves still worth making once the fit is good enough to swing; empty when all are in. */
export function betterWith(taken: readonly Move[]): string {
  const missing = FIT_ORDER.filter((step) => !taken.includes(step.move)).map((step) => step.title.toLowerCase());
  return missing.length ? `The fit gets better with: ${missing.join(', ')}.` : '';
}

export const FIT_STEPS = Object.fromEntries([...FIT_ORDER, ...FIT_MORE].map((step) => [step.move, step])) as Readonly<Record<Move, FitStep>>;
export const FIRST_SWING = 'Ready. Stand to the ball, be still for half a second, and swing.';

export function firstSwingFailed(why: string): string {
  return `That swing could not be measured. ${why} Stand to the ball again.`;
}

export const FIT_TAKEN = '✓ taken';
export const FIT_HOLDING = 'Hold still…';
export const FIT_WATCHING = 'Watching…';
export const FIT_AGAIN = 'Do it again';
export const FIT_IN_POSE = 'I am in the pose';
export const FIT_I_BEGIN = 'I begin';
export const FIT_MOVES = 'Fit moves';
export const FIT_SPREAD = 'One standard deviation: the true direction is that near about two times in three.';
export const FIT_ANEW = 'Fit the sensors again';
