/** One plain sentence for a rep: what happened, how much, and where in the swing if a mark shows it. */
import { amountWords, excessWords, isOfWholeSwing, type EndQuantity } from '../drills/amount';
import { markWord, sideWord } from '../labels';
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
  const quantity = rep.quantity ?? drill.quantity;
  const worst = worstOf(rep, drill);
  const whole = isOfWholeSwing(quantity) && worst !== null ? `: ${amountWords(worst, quantity)}` : '';
  if (rep.verdict === 'in_band') return isOfWholeSwing(quantity) ? `inside the band${whole}` : 'inside the band all the way';
  if (rep.verdict === 'unknown') return rep.advice ? `not judged. ${rep.advice}` : 'not judged: the angles could not be trusted';
  const word = sideWord(quantity, rep.verdict === 'above');
  if (worst === null) return `${word} past the band`;
  const place = placeOf(rep, drill, worst);
  return `${word} ${excessWords(excess(worst, drill), quantity)} past the band${place ? ` at ${markWord(place)}` : ''}${whole}`;
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
