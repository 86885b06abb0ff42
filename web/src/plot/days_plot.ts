/** Figures on the calendar, with their spread: each way of swinging has a shape of its own. No line joins the days. */
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import type { Way } from '../api/types.gen';
import { dayAfter, type DayMark, type DaysPicture } from '../state/days';
import type { Inks } from '../state/theme.svelte';
import { axisLook, BARE } from './drawing';

const WAYS: readonly Way[] = ['cued', 'silent', 'test', 'next_day'];
/** Ways of one day stand side by side. */
const APART_PX = 11;
const SIZE_PX = 6.5;
const LEAST_DAYS = 6;
const DASHES: Readonly<Record<Way, readonly number[]>> = { cued: [12, 5], silent: [2, 5], test: [8, 4, 2, 4], next_day: [5, 5] };

export class DaysPlot {
  private readonly plot: uPlot;
  private picture: DaysPicture = { first: '2000-01-01', last: 0, marks: [], lines: [], range: [0, 1], band: null };

  constructor(
    target: HTMLElement,
    private readonly inks: Inks,
    dayWords: (day: string) => string,
    private amountWords: (value: number) => string
  ) {
    const axis = axisLook(inks);
    this.plot = new uPlot(
      {
        ...BARE,
        padding: [12, 16, 0, 0],
        scales: { x: { time: false, range: () => this.xRange() }, y: { range: () => [...this.picture.range] as [number, number] } },
        axes: [
          { ...axis, size: 34, space: 64, incrs: [1, 2, 7, 14, 28, 56, 182, 364], values: (_, ticks) => ticks.map((at) => (at < 0 || at > this.picture.last ? '' : dayWords(dayAfter(this.picture.first, at)))) },
          { ...axis, size: 58, values: (_, ticks) => ticks.map((value) => this.amountWords(value)) }
        ],
        series: [{}, { points: { show: false }, paths: () => null }],
        hooks: { drawClear: [(plot) => this.drawBand(plot)], draw: [(plot) => this.drawDays(plot)] }
      },
      [[0], [null]],
      target
    );
  }

  resize(width: number, height: number): void {
    this.plot.setSize({ width, height });
  }

  show(picture: DaysPicture, amountWords: (value: number) => string): void {
    this.picture = picture;
    this.amountWords = amountWords;
    this.plot.setData([[0, Math.max(picture.last, 1)], [null, null]]);
  }

  destroy(): void {
    this.plot.destroy();
  }

  private xRange(): [number, number] {
    const spare = Math.max(0.6, 0.04 * this.picture.last, (LEAST_DAYS - this.picture.last) / 2);
    return [-spare, this.picture.last + spare];
  }

  private drawBand(plot: uPlot): void {
    const { band } = this.picture;
    if (!band) return;
    const { ctx, bbox } = plot;
    const [top, bottom] = [plot.valToPos(band[1], 'y', true), plot.valToPos(band[0], 'y', true)];
    ctx.save();
    ctx.fillStyle = this.inks.accentWash;
    ctx.fillRect(bbox.left, top, bbox.width, bottom - top);
    ctx.restore();
  }

  private drawDays(plot: uPlot): void {
    const { ctx } = plot;
    const px = devicePixelRatio;
    ctx.save();
    for (const line of this.picture.lines) {
      ctx.strokeStyle = this.inks.soft;
      ctx.lineWidth = 2.5 * px;
      ctx.setLineDash(DASHES[line.way].map((length) => length * px));
      ctx.beginPath();
      ctx.moveTo(plot.valToPos(line.from[0], 'x', true), plot.valToPos(line.from[1], 'y', true));
      ctx.lineTo(plot.valToPos(line.to[0], 'x', true), plot.valToPos(line.to[1], 'y', true));
      ctx.stroke();
    }
    ctx.setLineDash([]);
    const room = Math.abs(plot.valToPos(1, 'x', true) - plot.valToPos(0, 'x', true)) / (WAYS.length + 0.5);
    for (const mark of this.picture.marks) this.drawMark(plot, mark, Math.min(APART_PX * px, room));
    ctx.restore();
  }

  private drawMark(plot: uPlot, mark: DayMark, apart: number): void {
    const { ctx } = plot;
    const px = devicePixelRatio;
    const x = plot.valToPos(mark.at, 'x', true) + (WAYS.indexOf(mark.way) - (WAYS.length - 1) / 2) * apart;
    const y = plot.valToPos(mark.value, 'y', true);
    ctx.strokeStyle = mark.way === 'next_day' ? this.inks.accent : this.inks.ink;
    ctx.lineWidth = 2 * px;
    if (mark.low !== null && mark.high !== null) {
      ctx.beginPath();
      ctx.moveTo(x, plot.valToPos(mark.low, 'y', true));
      ctx.lineTo(x, plot.valToPos(mark.high, 'y', true));
      ctx.stroke();
    }
    shape(ctx, mark.way, x, y, SIZE_PX * px);
    ctx.fillStyle = mark.way === 'cued' ? this.inks.ink : mark.way === 'next_day' ? this.inks.accent : this.inks.paper;
    ctx.fill();
    ctx.stroke();
  }
}

/** Cued a full circle, silent an empty one, test an empty square, next day a full diamond: as `views/progress/WaySign.svelte`. */
function shape(ctx: CanvasRenderingContext2D, way: Way, x: number, y: number, r: number): void {
  ctx.beginPath();
  if (way === 'cued' || way === 'silent') ctx.arc(x, y, r, 0, 2 * Math.PI);
  else if (way === 'test') ctx.rect(x - 0.9 * r, y - 0.9 * r, 1.8 * r, 1.8 * r);
  else {
    ctx.moveTo(x, y - 1.3 * r);
    ctx.lineTo(x + 1.3 * r, y);
    ctx.lineTo(x, y + 1.3 * r);
    ctx.lineTo(x - 1.3 * r, y);
    ctx.closePath();
  }
}
