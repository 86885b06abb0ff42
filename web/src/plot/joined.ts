/** Lines with places of their own put into the one table that uPlot wants: see `lines.ts` for holes and rows that are not a line's. */
import type uPlot from 'uplot';
import type { Values } from '../state/review/phase';

export interface Line {
  readonly x: Values;
  readonly y: Values;
}

type Column = (number | null | undefined)[];

/** A value without a place is left out, and so is what lies beyond the range. */
export function joined(lines: readonly Line[], [from, to]: readonly [number, number]): uPlot.AlignedData {
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
      // A hole is one in the rows of others, too: else slivers of a line are drawn across it.
      if (before >= 0 && (column[at] === null || column[before] === null)) column.fill(null, before + 1, at);
      before = at;
    });
    return column;
  });
  return [places, ...table] as uPlot.AlignedData;
}

/** Degrees shown: all that is drawn and the band, in whole tens. */
export function valueRange(columns: uPlot.AlignedData, band: readonly number[], most: number): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (const value of [...columns.slice(1).flatMap((column) => [...column]), ...band]) {
    if (typeof value !== 'number' || value > most) continue;
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  if (low > high) return [-15, 15];
  low = Math.floor((low - 2) / 10) * 10;
  high = Math.ceil((high + 2) / 10) * 10;
  return high - low >= 20 ? [low, high] : [low - 10, high + 10];
}
