/** The marks of a swing as upright lines with their names over the picture. */
import type uPlot from 'uplot';
import type { Inks } from '../state/theme.svelte';

export interface MarkLine {
  readonly x: number;
  readonly words: string;
  /** This swing has been there; else it is where another one was. */
  readonly passed: boolean;
}

export const LABEL_PX = 16;

const BESIDE_PX = 5;
const RIM_PX = 4;

/** Each name has a row of its own, so that near ones do not run into each other; a rim of paper keeps it apart from a line behind it. */
export function drawMarkNames(plot: uPlot, marks: readonly MarkLine[], rows: number, xRange: readonly [number, number], inks: Inks): void {
  const { ctx, bbox } = plot;
  const px = devicePixelRatio;
  const shown = marks.flatMap((mark, i) => {
    if (mark.x > xRange[1] || mark.x < xRange[0]) return [];
    const [x, labelY] = [plot.valToPos(mark.x, 'x', true), bbox.top - (rows - 1 - (i % rows)) * LABEL_PX * px];
    return [{ ...mark, x, labelY, tone: mark.passed ? inks.ink : inks.soft }];
  });
  ctx.save();
  ctx.lineWidth = 1.5 * px;
  for (const { x, labelY, passed, tone } of shown) {
    ctx.strokeStyle = tone;
    ctx.setLineDash(passed ? [] : [2 * px, 4 * px]);
    ctx.beginPath();
    ctx.moveTo(x, labelY - 2 * px);
    ctx.lineTo(x, bbox.top + bbox.height);
    ctx.stroke();
  }
  ctx.font = `600 ${14 * px}px ${inks.font}`;
  ctx.textBaseline = 'bottom';
  ctx.strokeStyle = inks.paper;
  ctx.lineWidth = RIM_PX * px;
  ctx.lineJoin = 'round';
  ctx.setLineDash([]);
  for (const { x, labelY, words, tone } of shown) {
    const fits = x + BESIDE_PX * px + ctx.measureText(words).width <= ctx.canvas.width;
    ctx.textAlign = fits ? 'left' : 'right';
    const from = x + (fits ? BESIDE_PX : -BESIDE_PX) * px;
    ctx.fillStyle = tone;
    ctx.strokeText(words, from, labelY);
    ctx.fillText(words, from, labelY);
  }
  ctx.restore();
}
