/** A trace made ready to be drawn: its marks, its place on either axis, its figure at any instant. Made once a trace. */
import type { Column, Mark, SdColumn, Trace } from '../../api/kinds';
import type { Phase } from '../../wire/types.gen';
import { Model, type Figure, type Poses } from './figure';
import { HOLE_S, KNOTS, knotsOf, phaseAt, timeAt, type Knot, type Knots, type Values } from './phase';
import type { Quat, Vec } from './vec';

export type Axis = 'time' | 'phase';

export class SwingLine {
  readonly knots: Knots;
  readonly phase: Values;
  private readonly model: Model | null;

  constructor(readonly trace: Trace) {
    this.knots = knotsOf(trace.marks);
    this.phase = trace.t_s.map((tS) => phaseAt(tS, this.knots));
    const start = this.index(0, true);
    const address = start === null ? null : this.posesAt(start);
    this.model = address && new Model(address, trace.arm_length_m, trace.club_length_m, trace.hub_m as Vec | null);
  }

  places(axis: Axis): Values {
    return axis === 'time' ? this.trace.t_s : this.phase;
  }

  place(tS: number, axis: Axis): number | null {
    return axis === 'time' ? tS : phaseAt(tS, this.knots);
  }

  time(place: number, axis: Axis): number | null {
    return axis === 'time' ? place : timeAt(place, this.knots);
  }

  /** The sample nearest to an instant; with `posed` the nearest whose poses are known. None if it is too far away. */
  index(tS: number, posed = false): number | null {
    const { t_s: times, q_earth_from_club: club } = this.trace;
    let best: number | null = null;
    times.forEach((one, i) => {
      if (posed && !club[i]) return;
      if (best === null || Math.abs(one - tS) < Math.abs((times[best] ?? 0) - tS)) best = i;
    });
    return best !== null && Math.abs((times[best] ?? Infinity) - tS) <= HOLE_S ? best : null;
  }

  value(column: Column | SdColumn, tS: number): number | null {
    const i = this.index(tS);
    return i === null ? null : (this.trace[column][i] ?? null);
  }

  posesAt(i: number): Poses | null {
    const [forearm, hand, club] = [this.trace.q_earth_from_forearm[i], this.trace.q_earth_from_hand[i], this.trace.q_earth_from_club[i]];
    // Generated types lose what is in a tuple.
    return forearm && hand && club ? { forearm: forearm as Quat, hand: hand as Quat, club: club as Quat } : null;
  }

  /** Poses and points at an instant; null where the sensors could not say. */
  posed(tS: number): { poses: Poses; figure: Figure } | null {
    const i = this.index(tS);
    const poses = i === null ? null : this.posesAt(i);
    return poses && this.model ? { poses, figure: this.model.figure(poses) } : null;
  }

  figureOf(poses: Poses): Figure | null {
    return this.model?.figure(poses) ?? null;
  }

  /** Between which marks an instant lies; `at` one that is no further away than half a sample or so. */
  where(tS: number): { knot: Knot | null; next: Knot | null; at: boolean } {
    let [knot, next]: [Knot | null, Knot | null] = [null, null];
    for (const [i, name] of KNOTS.entries()) {
      const atS = this.knots[i];
      if (typeof atS !== 'number') continue;
      if (Math.abs(atS - tS) < 0.003) return { knot: name, next: null, at: true };
      if (atS <= tS) knot = name;
      else next ??= name;
    }
    return { knot, next, at: false };
  }

  /** From the takeaway to impact, or to where the lines end. */
  span(): [number, number] {
    const times = this.trace.t_s;
    const end = this.knots[4] ?? times.at(-1) ?? 1;
    return [Math.max(-0.15, times[0] ?? 0), Math.min(end + 0.1, times.at(-1) ?? end)];
  }

  /** All places that forearm and club come by, to the top or to impact: what a picture must hold. */
  reach(toImpact: boolean): Vec[] {
    const [from, end] = this.span();
    const to = toImpact ? end : (this.knots[3] ?? end);
    const points: Vec[] = [[0, 0, 0]];
    for (let i = 0; i < this.trace.t_s.length; i += 4) {
      const tS = this.trace.t_s[i] ?? 0;
      const poses = tS >= from && tS <= to ? this.posesAt(i) : null;
      const figure = poses && this.figureOf(poses);
      if (figure) points.push(figure.head, figure.hub, figure.butt);
    }
    return points;
  }
}

/** The way back of a drill's phases is from one mark to another. */
const PHASES: readonly { readonly phase: Phase; readonly from: number; readonly to: number }[] = [
  { phase: 'takeaway', from: 0, to: 1 },
  { phase: 'shaft_level', from: 1, to: 2 },
  { phase: 'arm_level', from: 2, to: 3 },
  { phase: 'top', from: 3, to: 3 },
  { phase: 'downswing', from: 3, to: 4 }
];

/** Where a drill's band counts, as places of an axis. */
export function bandPlaces(phases: readonly Phase[] | undefined, line: SwingLine, axis: Axis): { from: number | null; to: number | null } {
  const used = PHASES.filter((one) => phases?.includes(one.phase));
  const [first, last] = [used[0], used.at(-1)];
  if (!first || !last) return { from: null, to: null };
  const at = (knot: number): number | null => {
    const tS = line.knots[knot];
    return typeof tS !== 'number' ? null : axis === 'phase' ? knot : tS;
  };
  return { from: at(first.from), to: at(last.to) };
}

/** Which of the columns drawn is the drill's. */
export function columnOf(quantity: string): Column | null {
  const columns: Readonly<Record<string, Column>> = { bend_change: 'bend_change_deg', bend: 'bend_deg', shaft_pitch: 'shaft_pitch_deg', face_twist: 'face_twist_deg', roll_change: 'forearm_roll_deg' };
  return columns[quantity] ?? null;
}

/** A mark by its name. */
export function markOf(marks: readonly Mark[], name: Knot): Mark | null {
  return marks.find((mark) => mark.name === name) ?? null;
}
