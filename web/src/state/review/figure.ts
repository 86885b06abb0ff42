/**
 * Where arm, hand and club are drawn: the measured directions on a model of given lengths, that of the butt line
 * (`fusion/shaft/butt_line.py`; `server/export/markers.py` makes the same points for laboratories).
 *
 * Metres in the earth of the address: x to the player's right, y outward over the ball, z up, the head at address at the origin.
 * The forearm, the hand and the club have the directions that were measured. The hub, the lead shoulder, and so where the hands
 * are, is a guess; the upper arm only joins the two.
 */
import { dot, plus, rotate, type Quat, type Vec } from './vec';

export interface Poses {
  readonly forearm: Quat;
  readonly hand: Quat;
  readonly club: Quat;
}

export interface Figure {
  readonly hub: Vec;
  readonly elbow: Vec;
  readonly wrist: Vec;
  readonly hands: Vec;
  readonly butt: Vec;
  readonly head: Vec;
  readonly toe: Vec;
  /** Toward the palm: which way the hand's flat side looks. */
  readonly palm: Vec;
  /** Where the shaft line meets the ground past the butt, or null where it meets it too far away or not at all. */
  readonly onGround: Vec | null;
}

const DISTAL: Vec = [0, -1, 0];
/** As in `butt_line.py`: butt to the middle of the lead hand; how far the chest's turn carries the hub. */
const GRIP_M = 0.08;
const HUB_OUT_M = 0.12;
const LEAST_DIP = 0.25;
const FARTHEST_M = 3;
/** Of the drawing only. */
const HAND_M = 0.09;
const FOREARM_M = 0.25;
const HEAD_M = 0.09;

export class Model {
  private readonly hub: Vec;
  private readonly arm: Vec;

  constructor(
    address: Poses,
    private readonly armM: number,
    private readonly clubM: number,
    hub: Vec | null = null
  ) {
    this.arm = rotate(address.forearm, DISTAL);
    this.hub = hub ?? plus(plus([0, 0, 0], rotate(address.club, DISTAL), GRIP_M - clubM), this.arm, -armM);
  }

  figure(poses: Poses): Figure {
    const [arm, shaft] = [rotate(poses.forearm, DISTAL), rotate(poses.club, DISTAL)];
    const turned = Math.acos(Math.max(-1, Math.min(1, dot(arm, this.arm))));
    const hub = plus(this.hub, [0, HUB_OUT_M * Math.sin(Math.min(turned, Math.PI / 2)), 0]);
    const hands = plus(hub, arm, this.armM);
    const wrist = plus(hands, rotate(poses.hand, DISTAL), -HAND_M);
    const head = plus(hands, shaft, this.clubM - GRIP_M);
    return {
      hub,
      elbow: plus(wrist, arm, -FOREARM_M),
      wrist,
      hands,
      butt: plus(hands, shaft, -GRIP_M),
      head,
      toe: plus(head, rotate(poses.club, [0, 0, 1]), HEAD_M),
      palm: rotate(poses.hand, [1, 0, 0]),
      onGround: groundPoint(hands, shaft)
    };
  }
}

/** As in a mirror: one whose other arm leads, laid over. The segments' own axes are mirrored likewise. */
export function mirrored({ poses, figure }: { poses: Poses; figure: Figure }): { poses: Poses; figure: Figure } {
  const turn = ([w, x, y, z]: Quat): Quat => [w, x, -y, -z];
  const at = ([x, y, z]: Vec): Vec => [-x, y, z];
  return {
    poses: { forearm: turn(poses.forearm), hand: turn(poses.hand), club: turn(poses.club) },
    figure: {
      hub: at(figure.hub), elbow: at(figure.elbow), wrist: at(figure.wrist), hands: at(figure.hands), butt: at(figure.butt), head: at(figure.head),
      toe: at(figure.toe), palm: at(figure.palm), onGround: figure.onGround && at(figure.onGround)
    }
  };
}

function groundPoint(hands: Vec, shaft: Vec): Vec | null {
  if (shaft[2] < LEAST_DIP || hands[2] <= 0) return null;
  const point = plus(hands, shaft, -hands[2] / shaft[2]);
  return Math.abs(point[1]) <= FARTHEST_M ? point : null;
}
