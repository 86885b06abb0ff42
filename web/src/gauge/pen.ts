/** The few strokes that both pictures are made of. Lengths in CSS pixels, angles in radians as on the canvas. */
import type { Inks } from '../state/theme.svelte';

export interface Size {
  readonly width: number;
  readonly height: number;
}

export interface Point {
  readonly x: number;
  readonly y: number;
}

export interface Band {
  readonly lowDeg: number;
  readonly highDeg: number;
  /** Whether it counts in the present phase. */
  readonly live: boolean;
}

export type Context = CanvasRenderingContext2D;

export const radians = (deg: number): number => (deg * Math.PI) / 180;

export function along(from: Point, angle: number, length: number): Point {
  return { x: from.x + Math.cos(angle) * length, y: from.y + Math.sin(angle) * length };
}

export function stroke(ctx: Context, from: Point, to: Point, color: string, width: number, dash: number[] = []): void {
  ctx.save();
  ctx.strokeStyle = color;
  ctx.lineWidth = width;
  ctx.lineCap = dash.length ? 'butt' : 'round';
  ctx.setLineDash(dash);
  ctx.beginPath();
  ctx.moveTo(from.x, from.y);
  ctx.lineTo(to.x, to.y);
  ctx.stroke();
  ctx.restore();
}

export function disc(ctx: Context, at: Point, radius: number, fill: string, edge?: string, width = 2): void {
  ctx.beginPath();
  ctx.arc(at.x, at.y, radius, 0, 2 * Math.PI);
  ctx.fillStyle = fill;
  ctx.fill();
  if (!edge) return;
  ctx.strokeStyle = edge;
  ctx.lineWidth = width;
  ctx.stroke();
}

function sector(ctx: Context, at: Point, radius: number, a: number, b: number): void {
  ctx.beginPath();
  ctx.moveTo(at.x, at.y);
  ctx.arc(at.x, at.y, radius, Math.min(a, b), Math.max(a, b));
  ctx.closePath();
}

/** The wedge that the hand or shaft should lie in: washed while it counts, only outlined otherwise. */
export function wedge(ctx: Context, at: Point, radius: number, a: number, b: number, live: boolean, inks: Inks): void {
  sector(ctx, at, radius, a, b);
  ctx.fillStyle = inks.accentWash;
  ctx.globalAlpha = live ? 1 : 0.45;
  ctx.fill();
  ctx.globalAlpha = 1;
  const dash = live ? [] : [5, 5];
  for (const angle of [a, b]) stroke(ctx, at, along(at, angle, radius), inks.accent, live ? 3 : 2, dash);
}

/** How far outside: slanted lines, so that it is told from the band by pattern and not by colour alone. */
export function hatch(ctx: Context, at: Point, radius: number, a: number, b: number, color: string): void {
  ctx.save();
  sector(ctx, at, radius, a, b);
  ctx.clip();
  ctx.strokeStyle = color;
  ctx.lineWidth = 2.5;
  ctx.beginPath();
  for (let offset = -2 * radius; offset < 2 * radius; offset += 8) {
    ctx.moveTo(at.x + offset, at.y + radius);
    ctx.lineTo(at.x + offset + 2 * radius, at.y - radius);
  }
  ctx.stroke();
  ctx.restore();
}

export interface TextStyle {
  readonly color: string;
  readonly font: string;
  readonly px: number;
  readonly align: CanvasTextAlign;
  readonly weight?: number;
}

const fontOf = (style: TextStyle): string => `${style.weight ?? 600} ${style.px}px ${style.font}`;

export function textWidth(ctx: Context, words: string, style: TextStyle): number {
  ctx.font = fontOf(style);
  return ctx.measureText(words).width;
}

export function text(ctx: Context, words: string, at: Point, style: TextStyle): void {
  ctx.fillStyle = style.color;
  ctx.font = fontOf(style);
  ctx.textAlign = style.align;
  ctx.textBaseline = 'middle';
  ctx.fillText(words, at.x, at.y);
}
