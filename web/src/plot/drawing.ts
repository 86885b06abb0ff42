/** What every picture with the chart library looks like: its axes, its lines, the band behind them. */
import type uPlot from 'uplot';
import type { Inks } from '../state/theme.svelte';

/** Sized by whoever shows it; what is under the cursor is said elsewhere. */
export const BARE = { width: 10, height: 10, cursor: { show: false }, legend: { show: false } } as const;

/** Between the words of an axis of seconds, which show tenths: finer steps would be said wrong. */
export const SECONDS_APART: number[] = [0.1, 0.2, 0.5, 1, 2, 5, 10];

export function axisLook(inks: Inks): Pick<uPlot.Axis, 'stroke' | 'font' | 'grid' | 'ticks'> {
  return { stroke: inks.ink, font: `14px ${inks.font}`, grid: { stroke: inks.line, width: 1 }, ticks: { stroke: inks.line, width: 1 } };
}

export function lineLook(stroke: string, width: number, dash: number[] = []): uPlot.Series {
  return { stroke, width, dash, points: { show: false }, spanGaps: false };
}

export interface BandDrawn {
  readonly low: number;
  readonly high: number;
  /** Where it counts, in the picture's own x; null where that is not known. */
  readonly from: number | null;
  readonly to: number | null;
}

/** Its edges all the way, filled where it counts. */
export function drawBand(plot: uPlot, { low, high, from, to }: BandDrawn, inks: Inks): void {
  const { ctx, bbox } = plot;
  const [top, bottom] = [plot.valToPos(high, 'y', true), plot.valToPos(low, 'y', true)];
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  if (from !== null && to !== null) {
    const left = plot.valToPos(from, 'x', true);
    ctx.fillStyle = inks.accentWash;
    ctx.fillRect(left, top, plot.valToPos(to, 'x', true) - left, bottom - top);
  }
  ctx.strokeStyle = inks.accent;
  ctx.lineWidth = 2 * devicePixelRatio;
  ctx.setLineDash([6 * devicePixelRatio, 5 * devicePixelRatio]);
  for (const y of [top, bottom]) {
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
  }
  ctx.restore();
}
