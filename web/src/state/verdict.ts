/** One plain sentence for a rep: what happened, how much, and where in the swing if a mark shows it. */
import { markWord, sideWord } from '../labels';
import type { DrillView, MarkView, Quantity, RepMessage } from '../wire/types.gen';

const FIELD: Readonly<Record<Quantity, keyof MarkView>> = {
  bend_change: 'bend_change_deg',
  bend: 'bend_deg',
  roll_change: 'roll_change_deg',
  shaft_pitch: 'shaft_pitch_deg',
  face_twist: 'face_twist_deg'
};
/** A mark this near to the worst value is where it happened. */
const SAME_PLACE_DEG = 1.5;
const MARKS = ['shaft_level', 'arm_level', 'top'] as const;

/** Degrees outside the band, 0 inside. */
export function excessDeg(valueDeg: number, drill: DrillView): number {
  if (valueDeg < drill.low_deg) return drill.low_deg - valueDeg;
  return Math.max(valueDeg - drill.high_deg, 0);
}

export function verdictSentence(rep: RepMessage, drill: DrillView): string {
  if (rep.verdict === 'in_band') return 'inside the band all the way';
  if (rep.verdict === 'unknown') return rep.advice ? `not judged. ${rep.advice}` : 'not judged: the angles could not be trusted';
  const word = sideWord(drill.quantity, rep.verdict === 'above');
  if (rep.worst_deg === null) return `${word} past the band`;
  const excess = Math.max(1, Math.round(excessDeg(rep.worst_deg, drill)));
  const place = placeOf(rep, drill);
  return `${word} ${excess}° past the band${place ? ` at ${markWord(place)}` : ''}`;
}

function placeOf(rep: RepMessage, drill: DrillView): (typeof MARKS)[number] | null {
  const worst = rep.worst_deg;
  if (worst === null) return null;
  const field = FIELD[drill.quantity];
  for (const mark of MARKS) {
    const value = rep[mark]?.[field];
    if (typeof value === 'number' && Math.abs(value - worst) <= SAME_PLACE_DEG) return mark;
  }
  return null;
}
