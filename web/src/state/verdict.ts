/** One plain sentence for a rep: what happened, how much, and where in the swing if a mark shows it. */
import { isOfWholeSwing, type EndQuantity } from '../words/amount';
import { verdictWords } from '../words/rep';
import type { DrillView, MarkView, Quantity, RepMessage } from '../wire/types.gen';

const FIELD: Readonly<Record<Exclude<Quantity, EndQuantity>, keyof MarkView>> = {
  bend_change: 'bend_change_deg',
  bend: 'bend_deg',
  roll_change: 'roll_change_deg',
  shaft_pitch: 'shaft_pitch_deg',
  face_twist: 'face_twist_deg'
};
/** A mark this near to the worst value is where it happened. */
const SAME_PLACE_DEG = 1.5;
const MARKS = ['shaft_level', 'arm_level', 'top'] as const;

/** How far outside the band, in the drill's unit; 0 inside. */
export function excess(value: number, drill: DrillView): number {
  if (value < drill.low) return drill.low - value;
  return Math.max(value - drill.high, 0);
}

/** A rep's worst value in the drill's unit; null when it is not known or was judged by a drill on something else. */
export function worstOf(rep: RepMessage, drill: DrillView): number | null {
  const worst = rep.worst ?? rep.worst_deg;
  return (rep.quantity ?? drill.quantity) === drill.quantity ? (worst ?? null) : null;
}

export function verdictSentence(rep: RepMessage, drill: DrillView): string {
  const worst = worstOf(rep, drill);
  return verdictWords({
    quantity: rep.quantity ?? drill.quantity,
    verdict: rep.verdict,
    worst,
    past: worst === null ? 0 : excess(worst, drill),
    place: worst === null ? null : placeOf(rep, drill, worst),
    advice: rep.advice ?? ''
  });
}

function placeOf(rep: RepMessage, drill: DrillView, worst: number): (typeof MARKS)[number] | null {
  if (isOfWholeSwing(drill.quantity)) return null;
  const field = FIELD[drill.quantity];
  for (const mark of MARKS) {
    const value = rep[mark]?.[field];
    if (typeof value === 'number' && Math.abs(value - worst) <= SAME_PLACE_DEG) return mark;
  }
  return null;
}
