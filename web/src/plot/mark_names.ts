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

/** Each name has a row of its own, so that near ones do not run into each other. */
export function drawMarkNames(plot: uPlot, marks: readonly MarkLine[], rows: number, xRange: readonly [number, number], inks: Inks): void {
  const { ctx, bbox } = plot;
  const px = devicePixelRatio;
  ctx.save();
  ctx.font = `600 ${14 * px}px ${inks.font}`;
  ctx.textBaseline = 'bottom';
  marks.forEach((mark, i) => {
    if (mark.x > xRange[1] || mark.x < xRange[0]) return;
    const x = plot.valToPos(mark.x, 'x', true);
    const labelY = bbox.top - (rows - 1 - (i % rows)) * LABEL_PX * px;
    ctx.strokeStyle = mark.passed ? inks.ink : inks.soft;
    ctx.fillStyle = mark.passed ? inks.ink : inks.soft;
    ctx.lineWidth = 1.5 * px;
    ctx.setLineDash(mark.passed ? [] : [2 * px, 4 * px]);
    ctx.beginPath();
    ctx.moveTo(x, labelY - 2 * px);
    ctx.lineTo(x, bbox.top + bbox.height);
    ctx.stroke();
    const fits = x + 5 * px + ctx.measureText(mark.words).width <= plot.ctx.canvas.width;
    ctx.textAlign = fits ? 'left' : 'right';
    ctx.fillText(mark.words, fits ? x + 5 * px : x - 5 * px, labelY);
  });
  ctx.restore();
}
