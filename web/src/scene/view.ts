/** From where the scene is looked at. Pure. */
import { dot, plus, type Vec } from '../state/review/vec';

export type ViewName = 'face_on' | 'down_line' | 'free';

export interface Direction {
  /** About the vertical, degrees: 0 from over the ball toward the player, 90 from the player's right. */
  readonly turnDeg: number;
  /** Above the ground, degrees. */
  readonly upDeg: number;
}

/** Down the line is seen from behind the hands: from the right of a player whose left arm leads. */
export function directionOf(view: ViewName, free: Direction, leftLead: boolean): Direction {
  if (view === 'face_on') return { turnDeg: 0, upDeg: 0 };
  if (view === 'down_line') return { turnDeg: leftLead ? 90 : -90, upDeg: 0 };
  return free;
}

/** Unit vectors: toward the eye, and to the right and up in the picture. */
export function axesOf({ turnDeg, upDeg }: Direction): { toEye: Vec; right: Vec; up: Vec } {
  const [turn, rise] = [(turnDeg * Math.PI) / 180, (upDeg * Math.PI) / 180];
  const [s, c, sr, cr] = [Math.sin(turn), Math.cos(turn), Math.sin(rise), Math.cos(rise)];
  return { toEye: [s * cr, c * cr, sr], right: [-c, s, 0], up: [-s * sr, -c * sr, cr] };
}

export interface Frame {
  readonly centre: Vec;
  readonly halfWidthM: number;
  readonly halfHeightM: number;
}

const MARGIN_M = 0.12;

/** The smallest picture that holds all points, and fills a screen of that shape. */
export function frameOf(points: readonly Vec[], direction: Direction, shape: number): Frame {
  const { toEye, right, up } = axesOf(direction);
  const span = (axis: Vec): [number, number] => {
    const along = points.map((point) => dot(point, axis));
    return [Math.min(...along) - MARGIN_M, Math.max(...along) + MARGIN_M];
  };
  const [[l, r], [b, t], [n, f]] = [span(right), span(up), span(toEye)];
  const halfHeightM = Math.max((t - b) / 2, (r - l) / 2 / shape);
  const middle = plus(plus([0, 0, 0], right, (l + r) / 2), up, (b + t) / 2);
  return { centre: plus(middle, toEye, (n + f) / 2), halfWidthM: halfHeightM * shape, halfHeightM };
}
