/** The figure that a gauge shows: its number, its word, and how far past the band. */
import { NO_VALUE, signed, spreadWords } from '../words/common';
import { repTitle } from '../words/rep';
import { IN_THE_BAND, ONCE_A_SWING, OTHER_FIELD, STRAIGHT, AS_AT_ADDRESS, END_ON, bendWord, isOther, pastBand, pitchWord, sideWord, type OtherQuantity } from '../words/swing';
import type { LiveState } from './live.svelte';
import type { RepMessage } from '../wire/types.gen';
import { pastWords } from './reading';
import { excess, worstOf } from './verdict';
import { excessWords, isOfWholeSwing, numberOf, unitMark } from '../words/amount';

export interface Reading {
  /** Whole degrees with sign, or null. */
  readonly number: string | null;
  readonly word: string;
  /** How far off the number may be, in words; empty when that is not known. */
  readonly spread?: string;
  /** How far past the band, in words; empty inside it. */
  readonly past: string;
  /** What stands after the number; a degree sign if nothing is said. */
  readonly mark?: string;
  /** What the number is of, when it is not of this moment. */
  readonly title?: string;
}

const NOTHING: Reading = { number: null, word: '', past: '' };
const whole = (deg: number): string => signed(deg, false).replace('°', '');

export function endOn(live: LiveState): boolean {
  return live.frame?.shaft_pitch_deg === null && live.frame.pitch_doubt === 'foreshortened';
}

export function bendReading(live: LiveState): Reading {
  const deg = live.frame?.bend_change_deg ?? null;
  if (deg === null) return NOTHING;
  const past = pastWords('bend_change', live.hello?.drill ?? null, live.frame);
  return { number: whole(deg), spread: spreadWords(live.frame?.bend_change_sd_deg), word: bendWord(deg), past };
}

export function pitchReading(live: LiveState): Reading {
  const deg = live.frame?.shaft_pitch_deg ?? null;
  if (deg === null) return { ...NOTHING, word: endOn(live) ? END_ON : '' };
  const past = pastWords('shaft_pitch', live.hello?.drill ?? null, live.frame);
  return { number: whole(deg), spread: spreadWords(live.frame?.shaft_pitch_sd_deg), word: pitchWord(deg, live.addressPitchDeg), past };
}

export function otherReading(live: LiveState, quantity: OtherQuantity): Reading {
  if (isOfWholeSwing(quantity)) return live.lastRep?.quantity === quantity ? repReading(live, live.lastRep) : { ...NOTHING, word: ONCE_A_SWING };
  const deg = live.frame?.[OTHER_FIELD[quantity]] ?? null;
  if (deg === null) return NOTHING;
  const word = Math.round(deg) === 0 ? (quantity === 'bend' ? STRAIGHT : AS_AT_ADDRESS) : sideWord(quantity, deg > 0);
  return { number: whole(deg), word, past: pastWords(quantity, live.hello?.drill ?? null, live.frame) };
}

/** Phases in which the swing has nothing more to show of the drill: then the rep just made is of more use. */
const BETWEEN = ['idle', 'impact', 'finish'];

/** What the golfer at the ball looks for: the drill's quantity now, and between swings how the last one went. */
export function standReading(live: LiveState): Reading {
  const drill = live.hello?.drill;
  if (!drill || !live.frame) return NOTHING;
  const rep = live.lastRep;
  if (BETWEEN.includes(live.frame.phase) && rep && !rep.testing && !rep.paused) return repReading(live, rep);
  if (isOther(drill.quantity)) return otherReading(live, drill.quantity);
  return drill.quantity === 'bend_change' ? bendReading(live) : pitchReading(live);
}

function repReading(live: LiveState, rep: RepMessage): Reading {
  const drill = live.hello?.drill;
  const title = repTitle(rep.index);
  const worst = drill ? worstOf(rep, drill) : null;
  if (!drill || worst === null || rep.verdict === 'unknown') return { ...NOTHING, number: NO_VALUE, title };
  const { quantity } = drill;
  const past = rep.verdict === 'in_band' ? '' : pastBand(rep.verdict === 'below', excessWords(excess(worst, drill), quantity));
  if (isOfWholeSwing(quantity)) {
    const word = rep.verdict === 'in_band' ? IN_THE_BAND : sideWord(quantity, rep.verdict === 'above');
    return { number: numberOf(worst, quantity), mark: unitMark(quantity), word, past, title };
  }
  const word = quantity === 'shaft_pitch' ? '' : Math.round(worst) === 0 ? AS_AT_ADDRESS : sideWord(quantity, worst > 0);
  return { number: whole(worst), word, past, title };
}
