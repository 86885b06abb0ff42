/**
 * Swings laid over each other by their marks: a pure calculation, no document and no clock.
 *
 * Rule 1: between two marks that follow each other the way is divided evenly; the takeaway is 0, shaft level 1, lead arm level 2,
 * the top 3, impact 4.
 * Rule 2: a mark that was not passed leaves a hole on both its sides: what lies between its neighbours cannot be compared.
 * Rule 3: a value that is not known stays unknown. Nothing leads across a hole, nor across the shaft's passing level.
 */
export const KNOTS = ['takeaway', 'shaft_level', 'lead_arm_level', 'top', 'impact'] as const;
export type Knot = (typeof KNOTS)[number];
/** When each knot was passed, seconds since the takeaway; null where it was not. */
export type Knots = readonly (number | null)[];
export type Values = readonly (number | null)[];

/** A longer time between two samples is a hole. Samples are 5 ms apart at the usual rate. */
export const HOLE_S = 0.06;
/** Pitch goes from 0 to 180 degrees as the shaft passes level: nothing leads there. */
const TURN_DEG = 90;

export function knotsOf(marks: readonly { readonly name: string; readonly t_s: number }[]): Knots {
  let least = 0;
  return KNOTS.map((knot) => {
    const tS = knot === 'takeaway' ? 0 : (marks.find((mark) => mark.name === knot)?.t_s ?? null);
    if (tS === null || tS < least || (tS === least && knot !== 'takeaway')) return null;
    least = tS;
    return tS;
  });
}

/** 0 to 4; null before the takeaway, after impact, and beside a mark that was not passed. */
export function phaseAt(tS: number, knots: Knots): number | null {
  for (let i = 0; i + 1 < knots.length; i += 1) {
    const [from, to] = [knots[i], knots[i + 1]];
    if (typeof from === 'number' && typeof to === 'number' && tS >= from && tS <= to) return i + (tS - from) / (to - from);
  }
  return null;
}

/** The way back from `phaseAt`. */
export function timeAt(phase: number, knots: Knots): number | null {
  const i = Math.min(Math.max(Math.floor(phase), 0), KNOTS.length - 2);
  const [from, to] = [knots[i], knots[i + 1]];
  if (phase < 0 || phase > KNOTS.length - 1 || typeof from !== 'number' || typeof to !== 'number') return null;
  return from + (phase - i) * (to - from);
}

/** Values at the places asked for, in a straight line between the two samples beside each. */
export function resample(at: Values, values: Values, places: readonly number[], hole = HOLE_S): (number | null)[] {
  let i = 0;
  return places.map((place) => {
    while (i > 0 && (at[i] ?? Infinity) > place) i -= 1;
    while (i + 1 < at.length && (at[i + 1] ?? -Infinity) < place) i += 1;
    const [x0, x1, y0, y1] = [at[i], at[i + 1], values[i], values[i + 1]];
    if (x0 === place && typeof y0 === 'number') return y0;
    if (typeof x0 !== 'number' || typeof x1 !== 'number' || typeof y0 !== 'number' || typeof y1 !== 'number') return null;
    if (place < x0 || place > x1 || x1 - x0 > hole || Math.abs(y1 - y0) > TURN_DEG) return null;
    return y0 + ((place - x0) / Math.max(x1 - x0, 1e-12)) * (y1 - y0);
  });
}

export interface MeanSpread {
  readonly mean: readonly (number | null)[];
  /** Of one rep to the next: the sample standard deviation. */
  readonly sd: readonly (number | null)[];
  readonly n: readonly number[];
}

/** Fewer tell no spread. */
export const LEAST_REPS = 3;

/** Over reps sampled at the same places. A place where most reps are unknown tells nothing of them. */
export function meanSpread(reps: readonly Values[]): MeanSpread {
  const least = Math.max(LEAST_REPS, Math.ceil(reps.length / 2));
  const places = Math.max(0, ...reps.map((rep) => rep.length));
  const [mean, sd, n]: [(number | null)[], (number | null)[], number[]] = [[], [], []];
  for (let i = 0; i < places; i += 1) {
    const known = reps.map((rep) => rep[i]).filter((value) => typeof value === 'number');
    const enough = known.length >= least;
    const middle = known.reduce((sum, value) => sum + value, 0) / known.length;
    const square = known.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (known.length - 1);
    mean.push(enough ? middle : null);
    sd.push(enough ? Math.sqrt(square) : null);
    n.push(known.length);
  }
  return { mean, sd, n };
}
