/**
 * Swings as lines over time: cut by the phases, drawn by `views/coach/Trace.svelte`. Pure: no clock, no document.
 *
 * Rule 1: times are the frames' own, since the takeaway of their swing; when a frame came here does not matter.
 * Rule 2: what is not known leaves a hole: a null value, a frame that never came. Never a zero, never a line across.
 * Rule 3: memory is bounded; a swing that goes on for too long stops being written down, and says so.
 */
import type { FrameMessage, Phase, RepMessage } from '../wire/types.gen';

export const TRACES = ['bend_change', 'shaft_pitch', 'roll_change', 'face_twist', 'bend'] as const;
export type TraceName = (typeof TRACES)[number];
export const MARKS = ['shaft_level', 'arm_level', 'top'] as const;
export type MarkName = (typeof MARKS)[number];

export interface SwingMark {
  /** Since the takeaway. */
  readonly atS: number;
  /** One standard deviation of what has one, as it was known there. */
  readonly bendSdDeg: number | null;
  readonly pitchSdDeg: number | null;
}

export interface Swing {
  /** On the clock of the practice: with `t_s` of a rep it tells which rep this became. */
  readonly startS: number;
  /** Null for a swing under way, and for one that made no rep. */
  rep: number | null;
  /** Since the takeaway; a little before it is kept, too. */
  readonly atS: number[];
  readonly deg: Readonly<Record<TraceName, (number | null)[]>>;
  readonly marks: Partial<Record<MarkName, SwingMark>>;
  /** Frames that were made in it and did not come here. */
  nMissed: number;
  /** Places where the line is broken because nothing came for longer than `HOLE_S`. */
  nHoles: number;
  /** It went on for too long to be written down to its end. */
  cut: boolean;
  over: boolean;
}

/** A longer silence between two frames is a hole in the line. Frames are 25 to 30 ms apart. */
export const HOLE_S = 0.1;
/** How much before the takeaway is drawn. */
export const LEAD_IN_S = 0.15;
/** The takeaway is told once the club has moved: frames of so long before are kept for it. */
const MEMORY_S = 1.5;
export const MAX_SAMPLES = 600;
/** Finished swings kept: the last and five before it. */
export const KEPT_SWINGS = 6;
/** A rep's takeaway may be dated anew by so much. */
const SAME_SWING_S = 0.5;

const GOING: ReadonlySet<Phase> = new Set(['takeaway', 'shaft_level', 'arm_level', 'top', 'downswing', 'impact']);

export class Swings {
  /** The swing under way, or the one just over. */
  current: Swing | null = null;
  /** Swings that became reps, oldest first; the newest may be `current` as well. */
  readonly reps: Swing[] = [];
  /** Counts changes, so that a picture knows when to be drawn again. */
  changes = 0;

  private recent: FrameMessage[] = [];
  private phase: Phase | null = null;
  private lastSeq: number | null = null;

  /** A phase began. Comes before the frame of its instant, and may be dated back. */
  onPhase(phase: Phase, tS: number): void {
    if (phase === this.phase) return;
    const before = this.phase;
    this.phase = phase;
    if (phase === 'takeaway') this.begin(tS);
    else if (!GOING.has(phase)) this.end();
    else if (this.current && !this.current.over && before !== null) this.pass(phase, tS);
  }

  onFrame(frame: FrameMessage): void {
    const missed = this.lastSeq !== null && frame.seq > this.lastSeq ? frame.seq - this.lastSeq - 1 : 0;
    this.lastSeq = frame.seq;
    const last = this.recent.at(-1);
    // The clock began anew, or the link was gone for so long that the swing is another one.
    if (last && (frame.t_s < last.t_s || frame.t_s - last.t_s > MEMORY_S)) this.restart();
    if (frame.phase !== this.phase) this.onPhase(frame.phase, frame.t_s);
    const swing = this.current;
    if (swing && !swing.over) {
      swing.nMissed += missed;
      add(swing, frame);
      this.changes += 1;
    }
    this.recent.push(frame);
    while (this.recent.length > MAX_SAMPLES || (this.recent[0] && frame.t_s - this.recent[0].t_s > MEMORY_S)) this.recent.shift();
  }

  onRep(rep: RepMessage): void {
    const swing = this.current;
    if (!swing || swing.rep !== null || Math.abs(swing.startS - rep.t_s) > SAME_SWING_S) return;
    swing.rep = rep.index;
    this.reps.push(swing);
    if (this.reps.length > KEPT_SWINGS) this.reps.shift();
    this.changes += 1;
  }

  /** The newest rep's swing that is not being drawn as the present one. */
  ghost(): Swing | null {
    return this.earlier(1)[0] ?? null;
  }

  /** The newest `n` reps' swings before the present one, newest first. */
  earlier(n: number): readonly Swing[] {
    return this.reps.filter((swing) => swing !== this.current).reverse().slice(0, n);
  }

  ofRep(index: number): Swing | null {
    return this.reps.find((swing) => swing.rep === index) ?? null;
  }

  /** What is under way cannot be finished. */
  restart(): void {
    this.recent = [];
    this.phase = null;
    this.lastSeq = null;
    if (this.current?.rep === null) this.current = null;
    else if (this.current) this.current.over = true;
    this.changes += 1;
  }

  /** Another recording, or the same one from its start: reps count from 1 again. */
  clear(): void {
    this.restart();
    this.current = null;
    this.reps.length = 0;
  }

  private begin(tS: number): void {
    const swing: Swing = {
      startS: tS,
      rep: null,
      atS: [],
      deg: { bend_change: [], shaft_pitch: [], roll_change: [], face_twist: [], bend: [] },
      marks: {},
      nMissed: 0,
      nHoles: 0,
      cut: false,
      over: false
    };
    for (const frame of this.recent) if (frame.t_s >= tS - LEAD_IN_S) add(swing, frame);
    this.current = swing;
    this.changes += 1;
  }

  private pass(phase: Phase, tS: number): void {
    const swing = this.current;
    const mark = MARKS.find((one) => one === phase);
    if (!swing || !mark) return;
    const near = this.nearest(tS);
    swing.marks[mark] = { atS: tS - swing.startS, bendSdDeg: near?.bend_change_sd_deg ?? null, pitchSdDeg: near?.shaft_pitch_sd_deg ?? null };
    this.changes += 1;
  }

  private nearest(tS: number): FrameMessage | null {
    let best: FrameMessage | null = null;
    for (const frame of this.recent) {
      if (best === null || Math.abs(frame.t_s - tS) < Math.abs(best.t_s - tS)) best = frame;
    }
    return best !== null && Math.abs(best.t_s - tS) <= HOLE_S ? best : null;
  }

  private end(): void {
    if (!this.current || this.current.over) return;
    this.current.over = true;
    this.changes += 1;
  }
}

function add(swing: Swing, frame: FrameMessage): void {
  if (swing.atS.length >= MAX_SAMPLES) {
    swing.cut = true;
    return;
  }
  const atS = frame.t_s - swing.startS;
  const last = swing.atS.at(-1);
  if (last !== undefined && atS <= last) return;
  if (last !== undefined && atS - last > HOLE_S) {
    swing.nHoles += 1;
    put(swing, (last + atS) / 2, null);
  }
  put(swing, atS, frame);
}

function put(swing: Swing, atS: number, frame: FrameMessage | null): void {
  swing.atS.push(atS);
  for (const name of TRACES) swing.deg[name].push(frame ? valueOf(frame, name) : null);
}

export function valueOf(frame: FrameMessage, name: TraceName): number | null {
  switch (name) {
    case 'bend_change':
      return frame.bend_change_deg;
    case 'shaft_pitch':
      return frame.shaft_pitch_deg;
    case 'roll_change':
      return frame.roll_change_deg;
    case 'face_twist':
      return frame.face_twist_deg;
    case 'bend':
      return frame.bend_deg;
  }
}
