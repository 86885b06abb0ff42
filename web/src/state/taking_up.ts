/**
 * Is a move taken up, so that it can begin? As soon as the sensors show it: never sooner than it has been said, and never while
 * a pose is still being found, however long that takes.
 *
 * A pose is begun early where the sensors show that it is the right one: the arm level for the palm, arm and shaft inclined as
 * over the ball. The straight wrist no sensor shows before the fit: it is begun early from within the moves' rhythm only, when
 * something was moved for it. Elsewhere the time to take it up is waited for, and longer while nothing has moved or the pose is
 * plainly another one.
 */
import { FIT_STEPS } from '../words/fit';
import type { Move, StandingView } from '../wire/types.gen';

export interface Told {
  readonly move: Move;
  /** The move before it in this round; null for the first. */
  readonly after: Move | null;
  /** Time since it was said. */
  readonly sinceMs: number;
  /** Not before: so long it takes to hear it. */
  readonly soonestMs: number;
  /** From then on the golfer is taken to be in position. */
  readonly latestMs: number;
  /** Something has moved since it was said. */
  readonly moved: boolean;
}

/** Who moves within this time had not yet heard. */
export const HEARS_MS = 300;
export const MOVES_S = 0.1;
const POSE_STILL_S = 0.3;
const REST_STILL_S = 0.5;
/** Whoever is not still for so long trembles: the move is begun, and says why it cannot be taken. */
const PATIENCE_MS = 15_000;
/** Whoever has not moved at all has not taken the pose up, or was in it before it was said. */
const UNMOVED_MS = 5_000;
const ARM_LEVEL_DEG = 35;
const ARM_DOWN_DEG = 35;
const SHAFT_DEG = [25, 80] as const;
/** With room for how roughly the moves show the axes. */
const NOT_LEVEL_DEG = 55;
const NOT_DOWN_DEG = 20;
const NO_SHAFT_DEG = [12, 87] as const;

/** For how long everything has been still that the move needs to be. */
export function stillS(move: Move, standing: StandingView): number {
  return move === 'palm' ? standing.forearm_still_s : Math.min(standing.forearm_still_s, standing.club_still_s);
}

export function takenUp(told: Told, standing: StandingView | null): boolean {
  const { move, sinceMs } = told;
  if (sinceMs < told.soonestMs) return false;
  const late = sinceMs >= told.latestMs;
  if (standing === null || sinceMs >= told.latestMs + PATIENCE_MS) return late;
  const still = stillS(move, standing);
  if (move === 'still') return standing.lies || (late && still >= POSE_STILL_S);
  if (move === 'attitude') return still >= REST_STILL_S && (told.moved || late);
  if (!FIT_STEPS[move].held) {
    // The club is being taken up: that motion is no part of the move. With it in hand the motion may have begun already.
    if (told.after === 'palm') return still >= REST_STILL_S && (told.moved || late);
    return late;
  }
  if (still < POSE_STILL_S || wrongPose(move, standing)) return false;
  return told.moved ? late || rightPose(told, standing) : sinceMs >= told.latestMs + UNMOVED_MS;
}

/** It cannot be this one, however long it is held. */
function wrongPose(move: Move, { arm_deg: arm, shaft_deg: shaft }: StandingView): boolean {
  if (move === 'palm') return arm !== null && arm > NOT_LEVEL_DEG;
  if (move !== 'address') return false;
  return (arm !== null && arm < NOT_DOWN_DEG) || (shaft !== null && (shaft < NO_SHAFT_DEG[0] || shaft > NO_SHAFT_DEG[1]));
}

function rightPose({ move, after }: Told, { arm_deg: arm, shaft_deg: shaft }: StandingView): boolean {
  switch (move) {
    case 'palm':
      return arm !== null && arm <= ARM_LEVEL_DEG;
    case 'neutral':
      return after !== null && (arm === null || arm >= ARM_DOWN_DEG);
    case 'address':
      return arm !== null && arm >= ARM_DOWN_DEG && shaft !== null && shaft >= SHAFT_DEG[0] && shaft <= SHAFT_DEG[1];
    default:
      return false;
  }
}
