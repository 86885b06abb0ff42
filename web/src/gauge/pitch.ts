/**
 * The shaft pitch, drawn as the shaft leaning over the ball line, seen from behind the hands down the line.
 *
 * The hands stay put on the page: two sensors know how the shaft leans, not where the hands are. The dotted line is the
 * shaft at address, its head behind the ball; one degree of pitch is one degree on the picture. Ball to the right of a
 * right-handed player, mirrored for a left-handed one.
 */
import type { Inks } from '../state/theme.svelte';
import { GHOST } from '../words/swing';
import { along, disc, hatch, radians, stroke, text, textWidth, wedge, type Band, type Context, type Point, type Size } from './pen';

export interface PitchPicture {
  /** Null draws no shaft. */
  readonly pitchDeg: number | null;
  /** Head above the hands; below them near address. */
  readonly headUp: boolean;
  readonly addressDeg: number | null;
  /** Last rep at lead arm level. */
  readonly ghostDeg: number | null;
  /** The shaft points along the line of view: there is a shaft, but no pitch to see. */
  readonly endOn: boolean;
  readonly band: Band | null;
  readonly outside: boolean;
  readonly mirrored: boolean;
}

/** Where the ball is drawn while no address has been seen. */
const USUAL_ADDRESS_DEG = 58;
/** A shaft lying further over the ball line than this is drawn here. */
const STOP_DEG = 135;
/** Length of the club's head, as a share of the shaft's. */
const HEAD = 0.15;

export function drawPitch(ctx: Context, picture: PitchPicture, size: Size, inks: Inks): void {
  const { width, height } = size;
  ctx.clearRect(0, 0, width, height);
  const side = picture.mirrored ? -1 : 1;
  const ground = height - Math.max(10, height * 0.07);
  const addressDeg = Math.max(25, Math.min(90, picture.addressDeg ?? USUAL_ADDRESS_DEG));
  const px = Math.max(13, Math.min(20, width * 0.08));
  // The shaft has to fit upright above the hands with its head and the word over it, and level to either side.
  const length = Math.min((ground - 1.6 * px) / (1 + HEAD + Math.sin(radians(addressDeg))), width * 0.41);
  const fall = length * Math.sin(radians(addressDeg));
  const hands: Point = { x: width / 2, y: ground - fall };
  const sole = length * HEAD + 8;
  const ball: Point = { x: hands.x + side * (length * Math.cos(radians(addressDeg)) + sole), y: ground - 6 };
  const angleOf = (deg: number): number => {
    const drawn = Math.max(0, Math.min(STOP_DEG, deg));
    return picture.mirrored ? -radians(drawn) : Math.PI + radians(drawn);
  };

  if (picture.band) {
    const { lowDeg, highDeg, live } = picture.band;
    wedge(ctx, hands, length, angleOf(lowDeg), angleOf(highDeg), live, inks);
    if (picture.outside && picture.pitchDeg !== null) {
      const edge = picture.pitchDeg < lowDeg ? lowDeg : highDeg;
      hatch(ctx, hands, length * 0.94, angleOf(edge), angleOf(picture.pitchDeg), inks.alarm);
    }
  }
  stroke(ctx, { x: 0, y: ground }, { x: width, y: ground }, inks.ink, 2);
  if (picture.addressDeg !== null) {
    stroke(ctx, along(hands, angleOf(addressDeg) + Math.PI, length), along(hands, angleOf(addressDeg), length), inks.soft, 2, [2, 5]);
  }
  if (picture.ghostDeg !== null) {
    // Its name would lie across the shaft of the present where the two agree.
    const gap = picture.pitchDeg === null ? Infinity : picture.ghostDeg - picture.pitchDeg;
    const labelSide = Math.abs(gap) < 14 ? 0 : gap > 0 ? side : -side;
    drawGhost(ctx, hands, angleOf(picture.ghostDeg), length, labelSide, width, inks);
  }
  disc(ctx, ball, 6, inks.paper, inks.ink, 2.5);
  const color = picture.outside ? inks.alarm : inks.ink;
  if (picture.pitchDeg !== null) {
    drawClub(ctx, hands, angleOf(picture.pitchDeg) + (picture.headUp ? 0 : Math.PI), length, picture.headUp ? side : -side, color);
  }
  disc(ctx, hands, Math.max(8, length * 0.09), color);
  if (picture.endOn) {
    disc(ctx, hands, length * 0.17, inks.paper, inks.ink, 3);
    disc(ctx, hands, length * 0.05, inks.ink);
  }

  const label = { color: inks.soft, font: inks.font, px };
  text(ctx, 'steep', { x: hands.x, y: hands.y - length * (1 + HEAD) - px * 0.8 }, { ...label, align: 'center' });
  const outer = picture.mirrored ? 'right' : 'left';
  text(ctx, 'flat', { x: hands.x - side * length * (1 + HEAD), y: hands.y + px * 0.2 }, { ...label, align: outer });
}

/** A thick line, the butt a little past the hands, and a head set across its end. */
function drawClub(ctx: Context, hands: Point, angle: number, length: number, side: number, color: string): void {
  const head = along(hands, angle, length);
  stroke(ctx, along(hands, angle + Math.PI, length * 0.16), head, color, 6);
  stroke(ctx, head, along(head, angle + (side * Math.PI) / 2.9, length * HEAD), color, 9);
}

/** The label stands on the side away from the present shaft: 1 to the right, -1 to the left, 0 none. */
function drawGhost(ctx: Context, hands: Point, angle: number, length: number, labelSide: number, width: number, inks: Inks): void {
  stroke(ctx, hands, along(hands, angle, length * 0.92), inks.line, 7);
  if (labelSide === 0) return;
  const at = along(hands, angle, length * 0.6);
  const style = { color: inks.soft, font: inks.font, px: 13, align: 'left' as const };
  const wide = textWidth(ctx, GHOST, style);
  const x = labelSide > 0 ? at.x + 10 : at.x - 10 - wide;
  text(ctx, GHOST, { x: Math.max(2, Math.min(width - wide - 2, x)), y: at.y }, style);
}
