/** From reps to what one plot draws. Pure: words come from the words' file, tones from the plot. */
import { MOST_PITCH_DEG } from '../../plot/joined';
import type { TracePicture } from '../../plot/review_plot';
import { minus } from '../../words/common';
import { axisWords, KNOT_WORDS } from '../../words/review';
import type { Drawn, Stint } from '../../api/kinds';
import { perMetre } from '../../words/length';
import type { Units } from '../units.svelte';
import { KNOTS, meanSpread, resample, type Values } from './phase';
import { bandPlaces, columnOf, type Axis, type SwingLine } from './swing_line';

export interface Wanted {
  readonly column: Drawn;
  readonly line: SwingLine;
  readonly stint: Stint | null;
  readonly axis: Axis;
  readonly toImpact: boolean;
  readonly laid: readonly { readonly words: string; readonly line: SwingLine }[];
  readonly meanOf: readonly SwingLine[];
  readonly units: Units;
}

/** A line each can be told from the others without its colour. */
export const DASHES: readonly (readonly number[])[] = [[8, 5], [2, 4], [12, 4, 2, 4], [5, 3], [16, 6], [1, 3, 8, 3]];
const AFTER_TOP_S = 0.15;
const USUAL_S = 1;
export const MOST_STEP_DEG = 15;
const TIME_STEP_S = 0.01;
const PHASE_STEP = 0.02;

export function picture({ column, line, stint, axis, toImpact, laid, meanOf, units }: Wanted): TracePicture {
  const xRange = rangeOf(line, axis, toImpact);
  const pitch = column === 'shaft_pitch_deg';
  const shown = column === 'butt_line_m' ? perMetre(units) : 1;
  const inUnits = (all: Values): Values => (shown === 1 ? all : all.map((value) => (value === null ? null : shown * value)));
  const values = (one: SwingLine): Values => (pitch ? untangled(one.trace[column]) : inUnits(one.trace[column]));
  const drill = stint && columnOf(stint.quantity) === column ? stint : null;
  return {
    main: { x: line.places(axis), y: values(line), sd: inUnits(line.trace[`${column}_sd`]) },
    overlays: laid.map((one, i) => ({ x: one.line.places(axis), y: values(one.line), words: one.words, dash: DASHES[i % DASHES.length] ?? [] })),
    mean: meanOf.length > 0 ? meanLine(meanOf, (one) => (pitch ? steepAtMost(values(one)) : values(one)), axis, xRange) : null,
    band: drill && { low: drill.low, high: drill.high, ...bandPlaces(drill.phases, line, axis) },
    marks: KNOTS.flatMap((knot, i) => {
      const tS = line.knots[i];
      return typeof tS === 'number' ? [{ x: axis === 'time' ? tS : i, words: KNOT_WORDS[knot], passed: true }] : [];
    }),
    xRange,
    xWords: axis === 'time' ? (x) => `${minus(x.toFixed(1))} s` : () => '',
    xTicks: axis === 'time' ? null : KNOTS.map((_, i) => i).filter((i) => i <= xRange[1]),
    yWords: (y) => axisWords(column, y, units),
    most: pitch ? MOST_PITCH_DEG : Infinity
  };
}

function rangeOf(line: SwingLine, axis: Axis, toImpact: boolean): readonly [number, number] {
  if (axis === 'phase') return [0, toImpact ? 4 : 3];
  const [from, to] = line.span();
  const top = line.knots[3];
  return [from, toImpact || typeof top !== 'number' ? Math.max(to, USUAL_S) : Math.max(top + AFTER_TOP_S, USUAL_S)];
}

/** As the shaft passes level its pitch goes from 0 to 180 in a few instants without the shaft's having moved so: no line leads there. */
function untangled(values: Values): Values {
  return values.map((value, i) => {
    const before = values[i - 1];
    return typeof value === 'number' && typeof before === 'number' && Math.abs(value - before) > MOST_STEP_DEG ? null : value;
  });
}

/** The mean of a shaft just past level and one just short of it would be of neither. */
function steepAtMost(values: Values): Values {
  return values.map((value) => (typeof value === 'number' && value <= MOST_PITCH_DEG ? value : null));
}

function meanLine(lines: readonly SwingLine[], valuesOf: (line: SwingLine) => Values, axis: Axis, [from, to]: readonly [number, number]): TracePicture['mean'] {
  const step = axis === 'time' ? TIME_STEP_S : PHASE_STEP;
  const x = Array.from({ length: Math.floor((to - from) / step) + 1 }, (_, i) => from + i * step);
  const hole = axis === 'time' ? undefined : 0.25;
  const { mean, sd } = meanSpread(lines.map((one) => resample(one.places(axis), valuesOf(one), x, hole)));
  return { x, y: mean, sd };
}
