/** From swings to the columns that uPlot wants: one row for every instant of any of them. */
import type uPlot from 'uplot';
import type { Swing, TraceName } from '../state/swing';

/** The way back is what is practised: the way down would crush it with its speed. */
const AFTER_TOP_S = 0.15;

type Column = (number | null | undefined)[];

/**
 * Times in the first column, then one for each swing. A row that is not an instant of a swing is `undefined` there, which a
 * line passes over; a hole of the swing is null, which breaks it.
 */
export function columns(swings: readonly (Swing | null)[], name: TraceName): uPlot.AlignedData {
  const ends = swings.map((swing) => (swing?.marks.top ? swing.marks.top.atS + AFTER_TOP_S : Infinity));
  const times = [...new Set(swings.flatMap((swing, n) => swing?.atS.filter((atS) => atS <= (ends[n] ?? Infinity)) ?? []))].sort((a, b) => a - b);
  const row = new Map(times.map((atS, i) => [atS, i]));
  const lines = swings.map((swing, n) => {
    const column: Column = new Array<undefined>(times.length).fill(undefined);
    swing?.atS.forEach((atS, i) => {
      const at = row.get(atS);
      if (at !== undefined && atS <= (ends[n] ?? Infinity)) column[at] = turned(swing, name, i) ? null : (swing.deg[name][i] ?? null);
    });
    return column;
  });
  return [times, ...lines] as uPlot.AlignedData;
}

/** A shaft that passes level goes from a pitch of 0 to one of 180 without having moved: no line leads there. */
function turned(swing: Swing, name: TraceName, i: number): boolean {
  const [before, now] = [swing.deg[name][i - 1], swing.deg[name][i]];
  return name === 'shaft_pitch' && typeof before === 'number' && typeof now === 'number' && Math.abs(now - before) > 90;
}

/** Beyond it lies only the shaft just past level. */
const MOST_PITCH_DEG = 120;
const LEAST_SPAN_DEG = 30;
const STEP_DEG = 10;

/** Degrees shown: all values and the band, in whole tens, so that the picture does not twitch. */
export function degRange(data: uPlot.AlignedData, band: readonly number[], name: TraceName): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  const take = (deg: number | null | undefined): void => {
    if (typeof deg !== 'number' || (name === 'shaft_pitch' && deg > MOST_PITCH_DEG)) return;
    low = Math.min(low, deg);
    high = Math.max(high, deg);
  };
  for (const column of data.slice(1)) for (const deg of column) take(deg);
  band.forEach(take);
  if (low > high) return [-LEAST_SPAN_DEG / 2, LEAST_SPAN_DEG / 2];
  low = Math.floor((low - 3) / STEP_DEG) * STEP_DEG;
  high = Math.ceil((high + 3) / STEP_DEG) * STEP_DEG;
  return high - low >= LEAST_SPAN_DEG ? [low, high] : [low - STEP_DEG, high + STEP_DEG];
}

const USUAL_S = 1.2;

/** Seconds shown: from a little before the takeaway to the end of the longest line. */
export function timeRange(data: uPlot.AlignedData): [number, number] {
  return [-0.15, Math.max(USUAL_S, data[0].at(-1) ?? 0)];
}
