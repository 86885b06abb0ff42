/** Lines with places of their own put into the one table that uPlot wants, and how much of it is shown. */
import type uPlot from 'uplot';
import type { Values } from '../state/review/phase';

export interface Line {
  readonly x: Values;
  readonly y: Values;
}

type Column = (number | null | undefined)[];

export const NO_LINE: Line = { x: [], y: [] };

/**
 * Places in the first column, then one for each line. A row that is no place of a line is `undefined` there, which the line
 * passes over; a hole of the line is null, which breaks it. A value without a place is left out, and so is what lies beyond
 * the range.
 */
export function joined(lines: readonly Line[], [from, to]: readonly [number, number] = [-Infinity, Infinity]): uPlot.AlignedData {
  const within = (x: number | null | undefined): x is number => typeof x === 'number' && x >= from && x <= to;
  const places = [...new Set(lines.flatMap((line) => line.x.filter(within)))].sort((a, b) => a - b);
  const row = new Map(places.map((x, i) => [x, i]));
  const table = lines.map((line) => {
    const column: Column = new Array<undefined>(places.length).fill(undefined);
    let before = -1;
    line.x.forEach((x, i) => {
      const at = within(x) ? row.get(x) : undefined;
      if (at === undefined) return;
      column[at] = line.y[i] ?? null;
      // A hole is one in the rows between, too, which other lines have: else slivers of this one are drawn across it.
      if (before >= 0 && (column[at] === null || column[before] === null)) column.fill(null, before + 1, at);
      before = at;
    });
    return column;
  });
  return [places, ...table] as uPlot.AlignedData;
}

/** Of the pitch of a shaft: beyond it lies only the shaft just past level, which is no steep one. */
export const MOST_PITCH_DEG = 120;
const STEP_DEG = 10;

/** Degrees shown: all that is drawn and the band, with some to spare, in whole tens. What is beyond `most` is drawn as far as it goes. */
export function valueRange(columns: uPlot.AlignedData, band: readonly number[], most: number, leastSpanDeg = 20, spareDeg = 2): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (const value of [...columns.slice(1).flatMap((column) => [...column]), ...band]) {
    if (typeof value !== 'number' || value > most) continue;
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  if (low > high) return [-15, 15];
  low = Math.floor((low - spareDeg) / STEP_DEG) * STEP_DEG;
  high = Math.ceil((high + spareDeg) / STEP_DEG) * STEP_DEG;
  return high - low >= leastSpanDeg ? [low, high] : [low - STEP_DEG, high + STEP_DEG];
}
