/** What is said of a rep that was made. */
import type { Quantity, RepFlag, RepMark, RepMessage, Verdict } from '../wire/types.gen';
import { amountWords, excessWords, isOfWholeSwing } from './amount';
import { NO_VALUE } from './common';
import { markWord, sideWord, type Mark } from './swing';

export const SPREAD_WORDS = '± beside a figure is one standard deviation, rounded up: the true value is that near about two times in three.';

/** What one degree more bow would have done to the shaft, all else held. */
function sensitivityWords(pitchPerBend: number): string {
  const tenths = Math.abs(Math.round(pitchPerBend * 10));
  if (tenths === 0) return '1° more bow: shaft as steep as before';
  return `1° more bow: shaft ${(tenths / 10).toFixed(1)}° ${pitchPerBend < 0 ? 'flatter' : 'steeper'}`;
}

export const FLAG_WORDS: Readonly<Record<RepFlag, string>> = {
  half_swing: 'Half swing: the lead arm did not come to level.',
  no_strike: 'No strike was felt.',
  clip_turned: 'The club’s sensor has turned since the fit: bend and hinge are less sure.',
  strap_turned: 'The forearm sensor has turned since the fit: bend and hinge are less sure.',
  regripped: 'The club was taken anew before this swing. Bend and hinge may read some degrees otherwise than before; since address they are as good as ever.'
};

export const RECENT_REPS = 'The latest reps';
export const STRIP_WORDS = 'Marks of the reps: circle in the band, triangle down below it, triangle up above it, dash not judged; thick with the cue, thin without.';

export function repTitle(index: number): string {
  return `Rep ${index}, worst`;
}

export function repWords(index: number, verdict: string, cued: boolean, remark: string): string {
  return `Rep ${index}${cued ? '' : ', without the cue'}: ${verdict}${remark ? `. ${remark}` : ''}`;
}

const MARKED: Readonly<Record<RepMark, string>> = { good: 'Marked good', look: 'Marked to look at again', none: '' };
/** What was marked and noted of a rep; empty when nothing was. */
export function remarkWords(mark: RepMark | undefined, notes: readonly string[]): string {
  const marked = mark ? MARKED[mark] : '';
  return [marked && `${marked}.`, ...notes.map((note) => `“${note}”`)].filter(Boolean).join(' ');
}

export const LAST_REP = 'Last rep';
export const NO_REP = 'No rep yet. Stand to the ball, be still for a moment, swing.';
export const NO_REP_RECORDED = 'No rep yet: the recording has not come to the end of one.';
export function repLead(index: number): string {
  return `Rep ${index}:`;
}
export function figuresTitle(index: number | null): string {
  return index === null ? 'Last rep in figures' : `Rep ${index} in figures`;
}
export const COLUMNS: readonly string[] = ['bend', 'pitch', 'face twist'];
export const SIGNS_WORDS = 'Bend since address: − cupped, + bowed. Face twist since address: + shut, − open; it is not the face angle.';
export function timesWords(rep: RepMessage): string {
  const seconds = (s: number | null | undefined): string => (typeof s === 'number' ? `${s.toFixed(2)} s` : NO_VALUE);
  const tempo = typeof rep.tempo === 'number' ? `, tempo ${rep.tempo.toFixed(1)} to 1` : '';
  return `Back ${seconds(rep.backswing_s)}, down ${seconds(rep.downswing_s)}${tempo}; out of the band for ${seconds(rep.out_s)}.`;
}
export function whatIfWords(pitchPerBend: number): string {
  return `At lead arm level, ${sensitivityWords(pitchPerBend)}.`;
}

/** How a rep stood to the band; `past` is by how much it left it, `place` the mark at which it was worst, if it was at one. */
export interface Stood {
  readonly quantity: Quantity;
  readonly verdict: Verdict;
  readonly worst: number | null;
  readonly past: number;
  readonly place: Mark | null;
  readonly advice: string;
}
export function verdictWords({ quantity, verdict, worst, past, place, advice }: Stood): string {
  const whole = isOfWholeSwing(quantity) && worst !== null ? `: ${amountWords(worst, quantity)}` : '';
  if (verdict === 'in_band') return isOfWholeSwing(quantity) ? `inside the band${whole}` : 'inside the band all the way';
  if (verdict === 'unknown') return advice ? `not judged. ${advice}` : 'not judged: the angles could not be trusted';
  const word = sideWord(quantity, verdict === 'above');
  if (worst === null) return `${word} past the band`;
  return `${word} ${excessWords(past, quantity)} past the band${place ? ` at ${markWord(place)}` : ''}${whole}`;
}
