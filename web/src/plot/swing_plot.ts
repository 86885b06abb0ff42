/** The picture of the swing. The chart library is imported here, in `review_plot.ts` and in `days_plot.ts`. */
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import { MARK_SHORT } from '../words/coach';
import { MARKS, type Swing, type TraceName } from '../state/swing';
import type { Inks } from '../state/theme.svelte';
import type { DrillView } from '../wire/types.gen';
import { bandSpan, markTimes } from './band';
import { axisLook, BARE, drawBand, lineLook, SECONDS_APART } from './drawing';
import { minus } from '../words/common';
import { columns, degRange, timeRange } from './lines';
import { drawMarkNames, LABEL_PX } from './mark_names';

export interface SwingPicture {
  readonly quantity: TraceName;
  readonly current: Swing | null;
  readonly ghost: Swing | null;
  /** Fainter, before the ghost; newest first. */
  readonly earlier: readonly Swing[];
  readonly drill: DrillView | null;
}

export const MAX_EARLIER = 5;
const LABEL_ROWS = 3;

export class SwingPlot {
  private readonly plot: uPlot;
  private picture: SwingPicture = { quantity: 'bend_change', current: null, ghost: null, earlier: [], drill: null };
  private xRange: [number, number] = [0, 1];
  private yRange: [number, number] = [-1, 1];

  constructor(
    target: HTMLElement,
    private readonly inks: Inks
  ) {
    const axis = axisLook(inks);
    this.plot = new uPlot(
      {
        ...BARE,
        padding: [LABEL_ROWS * LABEL_PX + 4, 24, 0, 0],
        scales: { x: { time: false, range: () => this.xRange }, y: { range: () => this.yRange } },
        axes: [
          { ...axis, size: 34, incrs: SECONDS_APART, values: (_, ticks) => ticks.map((s) => `${minus(s.toFixed(1))} s`) },
          { ...axis, size: 52, values: (_, ticks) => ticks.map((deg) => `${minus(String(deg))}°`) }
        ],
        series: [
          {},
          ...Array.from({ length: MAX_EARLIER }, () => lineLook(inks.line, 1.5)),
          lineLook(inks.soft, 2.5, [7, 5]),
          lineLook(inks.ink, 4)
        ],
        hooks: { drawClear: [(plot) => this.drawBand(plot)], draw: [(plot) => this.drawMarks(plot)] }
      },
      columns(new Array<null>(MAX_EARLIER + 2).fill(null), 'bend_change'),
      target
    );
  }

  resize(width: number, height: number): void {
    this.plot.setSize({ width, height });
  }

  show(picture: SwingPicture): void {
    this.picture = picture;
    const faint = Array.from({ length: MAX_EARLIER }, (_, i) => picture.earlier[i] ?? null);
    const data = columns([...faint, picture.ghost, picture.current], picture.quantity);
    const drill = picture.drill?.quantity === picture.quantity ? picture.drill : null;
    this.xRange = timeRange(data);
    this.yRange = degRange(data, drill ? [drill.low, drill.high] : [], picture.quantity);
    this.plot.setData(data);
  }

  destroy(): void {
    this.plot.destroy();
  }

  private drawBand(plot: uPlot): void {
    const { drill, quantity, current, ghost } = this.picture;
    if (drill?.quantity !== quantity) return;
    const span = bandSpan(drill, markTimes(current, ghost));
    drawBand(plot, { low: drill.low, high: drill.high, from: span?.fromS ?? null, to: span?.toS ?? null }, this.inks);
  }

  private drawMarks(plot: uPlot): void {
    const times = markTimes(this.picture.current, this.picture.ghost);
    const marks = MARKS.map((mark) => ({ x: times[mark] ?? Infinity, words: MARK_SHORT[mark], passed: this.picture.current?.marks[mark] !== undefined }));
    drawMarkNames(plot, marks, LABEL_ROWS, [-Infinity, this.xRange[1]], this.inks);
  }
}
