/** From swings to the columns that uPlot wants, and how much of them is shown. */
import type uPlot from 'uplot';
import type { Swing, TraceName } from '../state/swing';
import { MOST_PITCH_DEG, valueRange } from './joined';

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

const LEAST_SPAN_DEG = 30;
const SPARE_DEG = 3;

/** Degrees shown: so wide, and with so much to spare, that the picture does not twitch. */
export function degRange(data: uPlot.AlignedData, band: readonly number[], name: TraceName): [number, number] {
  return valueRange(data, band, name === 'shaft_pitch' ? MOST_PITCH_DEG : Infinity, LEAST_SPAN_DEG, SPARE_DEG);
}

const USUAL_S = 1.2;

/** Seconds shown: from a little before the takeaway to the end of the longest line. */
export function timeRange(data: uPlot.AlignedData): [number, number] {
  return [-0.15, Math.max(USUAL_S, data[0].at(-1) ?? 0)];
}
