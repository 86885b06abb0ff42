/** From a drill's progress to what is drawn: marks on the calendar, and lines where there is a trend. */
import type { DrillProgressView, Way } from '../api/types.gen';

export type Shown = 'share' | 'median';
export interface DayMark {
  readonly way: Way;
  /** Days since the first one. */
  readonly at: number;
  readonly value: number;
  readonly low: number | null;
  readonly high: number | null;
}
export interface DayLine {
  readonly way: Way;
  readonly from: readonly [number, number];
  readonly to: readonly [number, number];
}
export interface DaysPicture {
  readonly first: string;
  readonly last: number;
  readonly marks: readonly DayMark[];
  readonly lines: readonly DayLine[];
  readonly range: readonly [number, number];
  readonly band: readonly [number, number] | null;
}

const DAY_MS = 86_400_000;
export function daysBetween(from: string, to: string): number {
  return Math.round((Date.parse(to) - Date.parse(from)) / DAY_MS);
}
export function dayAfter(first: string, days: number): string {
  return new Date(Date.parse(first) + days * DAY_MS).toISOString().slice(0, 10);
}

export function pictureOf(one: DrillProgressView, shown: Shown, enough: number): DaysPicture {
  const days = one.ways.flatMap((way) => way.days.map((day) => day.day)).sort();
  const first = days[0] ?? '';
  const marks = one.ways.flatMap(({ way, days: its }) =>
    its.flatMap(({ day, sample }): DayMark[] => {
      const at = daysBetween(first, day);
      if (shown === 'share') return sample.share === null ? [] : [{ way, at, value: sample.share, low: sample.share_low, high: sample.share_high }];
      return sample.median === null ? [] : [{ way, at, value: sample.median, low: sample.low_quartile, high: sample.high_quartile }];
    })
  );
  const lines = shown === 'share' ? [] : one.ways.flatMap((way) => trendLine(way, first, enough));
  const band = shown === 'share' ? null : ([one.drill.low, one.drill.high] as const);
  return { first, last: daysBetween(first, days.at(-1) ?? first), marks, lines, range: shown === 'share' ? [-0.04, 1.04] : rangeOf(marks, band), band };
}

/** Through the middle of the days that count, as SciPy's `theilslopes` puts it. */
function trendLine(figures: DrillProgressView['ways'][number], first: string, enough: number): DayLine[] {
  const perWeek = figures.trend.per_week;
  if (perWeek === null) return [];
  const points = figures.days.flatMap(({ day, sample }) => (sample.median !== null && sample.n_judged >= enough ? [[daysBetween(first, day), sample.median] as const] : []));
  const [from, to] = [points[0], points.at(-1)];
  if (!from || !to) return [];
  const [midX, midY] = [middle(points.map(([x]) => x)), middle(points.map(([, y]) => y))];
  const at = (x: number): readonly [number, number] => [x, midY + (perWeek / 7) * (x - midX)];
  return [{ way: figures.way, from: at(from[0]), to: at(to[0]) }];
}

function middle(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 ? (sorted[half] ?? 0) : ((sorted[half - 1] ?? 0) + (sorted[half] ?? 0)) / 2;
}

function rangeOf(marks: readonly DayMark[], band: readonly [number, number] | null): [number, number] {
  const all = [...(band ?? []), ...marks.flatMap((mark) => [mark.value, mark.low ?? mark.value, mark.high ?? mark.value])];
  const [low, high] = [Math.min(...all), Math.max(...all)];
  const room = 0.08 * Math.max(high - low, 1e-6);
  return [low - room, high + room];
}
