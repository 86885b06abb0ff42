/**
 * The wrist bend, drawn as the lead hand hinging on the forearm, seen from the thumb side with the arm upright.
 *
 * Straight on is "as at address". One degree of bend is one degree on the picture. Cupped leans to the left and bowed to
 * the right for a left lead arm, mirrored for a right one: the picture is then what that player sees of the own arm.
 */
import type { Inks } from '../state/theme.svelte';
import { along, disc, hatch, radians, stroke, text, wedge, type Band, type Context, type Point, type Size } from './pen';

export interface BendPicture {
  /** Change since address; null draws no hand. */
  readonly bendDeg: number | null;
  readonly band: Band | null;
  readonly outside: boolean;
  readonly mirrored: boolean;
}

const UP = -Math.PI / 2;
/** A hand bends no further; a wilder value is drawn at the stop. */
const STOP_DEG = 60;

export function drawBend(ctx: Context, picture: BendPicture, size: Size, inks: Inks): void {
  const { width, height } = size;
  ctx.clearRect(0, 0, width, height);
  const reach = Math.min(height * 0.68, width * 0.55);
  // Fingertips near the upper edge; a tall picture is filled from its middle.
  const wrist: Point = { x: width / 2, y: Math.max(reach * 1.08 + 4, (height + reach * 0.5) / 2) };
  const side = picture.mirrored ? -1 : 1;
  const angleOf = (deg: number): number => UP + side * radians(Math.max(-STOP_DEG, Math.min(STOP_DEG, deg)));

  if (picture.band) drawBand(ctx, picture, picture.band, wrist, reach, angleOf, inks);
  stroke(ctx, wrist, along(wrist, UP, reach * 1.06), inks.soft, 2, [2, 5]);
  drawForearm(ctx, wrist, reach, height, inks);
  if (picture.bendDeg !== null) {
    const color = picture.outside ? inks.alarm : inks.ink;
    drawHand(ctx, wrist, angleOf(picture.bendDeg), side, reach, color, inks.paper);
  }
  disc(ctx, wrist, reach * 0.06, inks.paper, inks.ink, 2.5);

  const px = Math.max(13, Math.min(20, width * 0.08));
  const baseline = Math.min(wrist.y + reach * 0.2, height - px);
  const label = { color: inks.soft, font: inks.font, px };
  const [left, right] = picture.mirrored ? ['bowed', 'cupped'] : ['cupped', 'bowed'];
  const gap = reach * 0.2 + 4;
  text(ctx, left, { x: wrist.x - gap, y: baseline }, { ...label, align: 'right' });
  text(ctx, right, { x: wrist.x + gap, y: baseline }, { ...label, align: 'left' });
}

function drawBand(
  ctx: Context,
  picture: BendPicture,
  band: Band,
  wrist: Point,
  reach: number,
  angleOf: (deg: number) => number,
  inks: Inks
): void {
  wedge(ctx, wrist, reach * 1.04, angleOf(band.lowDeg), angleOf(band.highDeg), band.live, inks);
  if (!picture.outside || picture.bendDeg === null) return;
  const edge = picture.bendDeg < band.lowDeg ? band.lowDeg : band.highDeg;
  hatch(ctx, wrist, reach * 0.98, angleOf(edge), angleOf(picture.bendDeg), inks.alarm);
}

/** Two contours that run out of the picture: the arm goes on. */
function drawForearm(ctx: Context, wrist: Point, reach: number, bottom: number, inks: Inks): void {
  const end = Math.max(bottom + 4, wrist.y + reach * 0.4);
  ctx.beginPath();
  ctx.moveTo(wrist.x - reach * 0.125, wrist.y);
  ctx.quadraticCurveTo(wrist.x - reach * 0.14, wrist.y + reach * 0.25, wrist.x - reach * 0.2, end);
  ctx.lineTo(wrist.x + reach * 0.2, end);
  ctx.quadraticCurveTo(wrist.x + reach * 0.14, wrist.y + reach * 0.25, wrist.x + reach * 0.125, wrist.y);
  ctx.arc(wrist.x, wrist.y, reach * 0.125, 0, Math.PI, true);
  ctx.closePath();
  ctx.fillStyle = inks.paper;
  ctx.fill();
  ctx.strokeStyle = inks.ink;
  ctx.lineWidth = 3;
  ctx.lineJoin = 'round';
  ctx.stroke();
}

/** A flat hand edge on: back of the hand on the cupped side, thumb lying along the palm side. */
function drawHand(ctx: Context, wrist: Point, angle: number, side: number, reach: number, color: string, paper: string): void {
  ctx.save();
  ctx.translate(wrist.x, wrist.y);
  ctx.rotate(angle - UP);
  ctx.scale(side * reach, -reach);
  ctx.beginPath();
  ctx.arc(0, 0, 0.122, 0, Math.PI, true);
  ctx.bezierCurveTo(-0.15, 0.15, -0.16, 0.32, -0.135, 0.46);
  ctx.bezierCurveTo(-0.12, 0.62, -0.075, 0.8, -0.03, 0.95);
  ctx.bezierCurveTo(-0.015, 1.0, 0.04, 0.99, 0.04, 0.93);
  ctx.bezierCurveTo(0.045, 0.78, 0.04, 0.62, 0.055, 0.48);
  ctx.bezierCurveTo(0.1, 0.36, 0.15, 0.2, 0.122, 0);
  ctx.closePath();
  ctx.fillStyle = color;
  ctx.fill();
  ctx.beginPath();
  ctx.moveTo(0.01, 0.17);
  ctx.bezierCurveTo(0.03, 0.3, 0.08, 0.38, 0.125, 0.52);
  ctx.bezierCurveTo(0.145, 0.59, 0.215, 0.57, 0.205, 0.48);
  ctx.bezierCurveTo(0.19, 0.34, 0.17, 0.22, 0.135, 0.11);
  ctx.restore();
  ctx.fillStyle = color;
  ctx.fill();
  ctx.strokeStyle = paper;
  ctx.lineWidth = 2;
  ctx.stroke();
}
