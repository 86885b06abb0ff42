/** What is drawn behind the lines: the drill's band where it counts, and the marks of the swing. */
import { MARKS, type MarkName, type Swing } from '../state/swing';
import type { DrillView, Phase } from '../wire/types.gen';

export interface Span {
  readonly fromS: number;
  readonly toS: number;
}

/** Phases of a drill in the order of the swing; the last ends at its mark or goes on for a moment. */
const STEPS: readonly { phase: Phase; from: MarkName | null; to: MarkName | null }[] = [
  { phase: 'takeaway', from: null, to: 'shaft_level' },
  { phase: 'shaft_level', from: 'shaft_level', to: 'arm_level' },
  { phase: 'arm_level', from: 'arm_level', to: 'top' },
  { phase: 'top', from: 'top', to: null }
];
/** The top of the backswing lasts about so long before the club is on its way down. */
const TOP_S = 0.1;

/** When each mark is passed: as this swing has shown so far, else as the one before did. */
export function markTimes(swing: Swing | null, before: Swing | null): Partial<Record<MarkName, number>> {
  const times: Partial<Record<MarkName, number>> = {};
  let least = 0;
  for (const mark of MARKS) {
    const own = swing?.marks[mark]?.atS;
    const atS = own ?? before?.marks[mark]?.atS;
    // A slower swing has passed the time of a mark that it has not reached: then nothing is known of it.
    if (atS === undefined || atS < least) continue;
    times[mark] = atS;
    least = atS;
  }
  return times;
}

/** Where in time the drill's band counts, or null while no swing has shown when its phases are. */
export function bandSpan(drill: DrillView, times: Partial<Record<MarkName, number>>): Span | null {
  let fromS: number | null = null;
  let toS: number | null = null;
  for (const step of STEPS) {
    if (!drill.phases.includes(step.phase)) continue;
    const start = step.from === null ? 0 : times[step.from];
    if (start === undefined) continue;
    fromS ??= start;
    toS = step.to === null ? start + TOP_S : (times[step.to] ?? start + TOP_S);
  }
  return fromS === null || toS === null ? null : { fromS, toS };
}
