/** One quantity of a rep over time or phase, with what is laid over it. */
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import { MOST_OVERLAYS } from '../state/review/looking.svelte';
import type { Inks } from '../state/theme.svelte';
import { axisLook, BARE, drawBand, lineLook, SECONDS_APART, type BandDrawn } from './drawing';
import { joined, NO_LINE, valueRange, type Line } from './joined';
import { drawMarkNames, LABEL_PX, type MarkLine } from './mark_names';

export interface Overlay extends Line {
  readonly words: string;
  readonly dash: readonly number[];
}
export interface TracePicture {
  readonly main: Line & { readonly sd: readonly (number | null)[] };
  readonly overlays: readonly Overlay[];
  readonly mean: (Line & { readonly sd: readonly (number | null)[] }) | null;
  readonly band: BandDrawn | null;
  readonly marks: readonly MarkLine[];
  readonly xRange: readonly [number, number];
  /** What stands at a place of the x axis. */
  readonly xWords: (x: number) => string;
  readonly yWords: (y: number) => string;
  /** Places of the x axis that have words; null leaves them to the picture. */
  readonly xTicks: readonly number[] | null;
  readonly most: number;
}

const ROWS = 2;
/** Before the overlays stand the edges of the two shaded bands and the mean. */
const FIRST_OVERLAY = 6;
const BESIDE_PX = 6;
const LEAST_BESIDE_PX = 34;
const NAME_PX = 13;
const LEAST_AXIS_PX = 50;
const AXIS_GAP_PX = 20;
const CHARACTER_PX = 8;

export class ReviewPlot {
  private readonly plot: uPlot;
  private readonly scrubbed: HTMLElement;
  private picture: TracePicture | null = null;
  private yRange: [number, number] = [-1, 1];
  private scrubX: number | null = null;
  /** Right of the lines stands whose they are. */
  private besidePx = LEAST_BESIDE_PX;

  constructor(
    target: HTMLElement,
    private readonly inks: Inks,
    onscrub: (x: number) => void
  ) {
    const axis = axisLook(inks);
    this.plot = new uPlot(
      {
        ...BARE,
        padding: [ROWS * LABEL_PX + 4, () => this.besidePx, 0, 0],
        scales: { x: { time: false, range: () => [...(this.picture?.xRange ?? [0, 1])] }, y: { range: () => this.yRange } },
        axes: [
          { ...axis, size: 30, incrs: SECONDS_APART, splits: (_, __, min, max, step) => this.ticks(min, max, step), values: (_, ticks) => ticks.map((x) => this.picture?.xWords(x) ?? '') },
          { ...axis, size: (_, words) => roomFor(words ?? []), values: (_, ticks) => ticks.map((y) => this.picture?.yWords(y) ?? '') }
        ],
        series: [
          {},
          lineLook('transparent', 0),
          lineLook('transparent', 0),
          lineLook('transparent', 0),
          lineLook('transparent', 0),
          lineLook(inks.accent, 2.5, [2, 3]),
          ...Array.from({ length: MOST_OVERLAYS }, () => lineLook(inks.soft, 2)),
          lineLook(inks.ink, 3)
        ],
        bands: [
          { series: [2, 1], fill: inks.accentWash },
          { series: [4, 3], fill: inks.line }
        ],
        hooks: { drawClear: [(plot) => this.picture?.band && drawBand(plot, this.picture.band, inks)], draw: [() => this.drawWords(), () => this.scrub(this.scrubX)] }
      },
      [[0]] as unknown as uPlot.AlignedData,
      target
    );
    this.scrubbed = document.createElement('div');
    Object.assign(this.scrubbed.style, { position: 'absolute', top: '0', bottom: '0', left: '-1px', width: '3px', background: inks.accent, pointerEvents: 'none' });
    this.plot.over.append(this.scrubbed);
    this.plot.over.style.touchAction = 'pan-y';
    const take = (event: PointerEvent): void => {
      if (event.type === 'pointermove' && event.buttons === 0) return;
      onscrub(this.plot.posToVal(event.clientX - this.plot.over.getBoundingClientRect().left, 'x'));
    };
    for (const type of ['pointerdown', 'pointermove'] as const) this.plot.over.addEventListener(type, take);
  }

  resize(width: number, height: number): void {
    this.plot.setSize({ width, height });
  }

  show(picture: TracePicture): void {
    this.picture = picture;
    const { main, mean, overlays, band } = picture;
    const edge = (one: TracePicture['main'] | null, by: number): Line =>
      one ? { x: one.x, y: one.y.map((value, i) => shifted(value, one.sd[i], by)) } : NO_LINE;
    const drawn = Array.from({ length: MOST_OVERLAYS }, (_, i) => overlays[i] ?? NO_LINE);
    const lines = [edge(mean, -1), edge(mean, 1), edge(main, -1), edge(main, 1), mean ?? NO_LINE, ...drawn, main];
    overlays.forEach((overlay, i) => {
      const series = this.plot.series[FIRST_OVERLAY + i];
      if (series) series.dash = [...overlay.dash];
    });
    const data = joined(lines, picture.xRange);
    this.yRange = valueRange(data, band ? [band.low, band.high] : [], picture.most);
    this.plot.setData(data);
    this.makeRoom(overlays.map((overlay) => overlay.words));
  }

  scrub(x: number | null): void {
    this.scrubX = x;
    this.scrubbed.hidden = x === null;
    if (x !== null) this.scrubbed.style.transform = `translateX(${this.plot.valToPos(x, 'x')}px)`;
  }

  destroy(): void {
    this.plot.destroy();
  }

  private ticks(min: number, max: number, step: number): number[] {
    if (this.picture?.xTicks) return [...this.picture.xTicks];
    const first = Math.ceil(min / step);
    return Array.from({ length: Math.max(0, Math.floor(max / step) - first + 1) }, (_, i) => (first + i) * step);
  }

  private nameFont(px: number): string {
    return `600 ${NAME_PX * px}px ${this.inks.font}`;
  }

  /** So that the longest name is not cut off. */
  private makeRoom(names: readonly string[]): void {
    const { ctx, width, height } = this.plot;
    ctx.save();
    ctx.font = this.nameFont(1);
    const widest = Math.max(0, ...names.map((name) => ctx.measureText(name).width));
    ctx.restore();
    const besidePx = Math.max(LEAST_BESIDE_PX, Math.ceil(widest) + 2 * BESIDE_PX);
    if (besidePx === this.besidePx) return;
    this.besidePx = besidePx;
    this.plot.setSize({ width, height });
  }

  /** The marks' names, and at the end of each line laid over whose it is. */
  private drawWords(): void {
    const { picture, plot, inks } = this;
    if (!picture) return;
    drawMarkNames(plot, picture.marks, ROWS, picture.xRange, inks);
    const { ctx } = plot;
    const px = devicePixelRatio;
    ctx.save();
    ctx.font = this.nameFont(px);
    ctx.textBaseline = 'middle';
    ctx.textAlign = 'left';
    ctx.fillStyle = inks.soft;
    picture.overlays.slice(0, MOST_OVERLAYS).forEach((overlay, i) => {
      const column = plot.data[FIRST_OVERLAY + i] ?? [];
      let at = column.length - 1;
      while (at >= 0 && typeof column[at] !== 'number') at -= 1;
      const [x, y] = [plot.data[0][at], column[at]];
      if (typeof x === 'number' && typeof y === 'number') ctx.fillText(overlay.words, plot.valToPos(x, 'x', true) + BESIDE_PX * px, plot.valToPos(y, 'y', true));
    });
    ctx.restore();
  }
}

/** Left of an axis, by its longest words. */
function roomFor(words: readonly string[]): number {
  return Math.max(LEAST_AXIS_PX, AXIS_GAP_PX + CHARACTER_PX * Math.max(0, ...words.map((one) => one.length)));
}

function shifted(value: number | null | undefined, sd: number | null | undefined, by: number): number | null {
  return typeof value === 'number' && typeof sd === 'number' ? value + by * sd : null;
}
