/** From swings to the columns that uPlot wants, and how much of them is shown. */
import type uPlot from 'uplot';
import type { Swing, TraceName } from '../state/swing';
import { joined, MOST_PITCH_DEG, NO_LINE, valueRange, type Line } from './joined';

/** The way back is what is practised: the way down would crush it with its speed. */
const AFTER_TOP_S = 0.15;

/** Times in the first column, then one for each swing; a null is no line at all. */
export function columns(swings: readonly (Swing | null)[], name: TraceName): uPlot.AlignedData {
  return joined(swings.map((swing) => (swing ? lineOf(swing, name) : NO_LINE)));
}

function lineOf(swing: Swing, name: TraceName): Line {
  const endS = swing.marks.top ? swing.marks.top.atS + AFTER_TOP_S : Infinity;
  return {
    x: swing.atS.map((atS) => (atS <= endS ? atS : null)),
    y: swing.deg[name].map((deg, i) => (turned(swing, name, i) ? null : deg))
  };
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
