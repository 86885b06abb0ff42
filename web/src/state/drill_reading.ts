/** The figure that a gauge shows: its number, its word, and how far past the band. */
import { NO_VALUE, OTHER_FIELD, STRAIGHT, AS_AT_ADDRESS, END_ON, bendWord, isOther, pitchWord, repTitle, sideWord, signed, spreadWords, type OtherQuantity } from '../labels';
import type { LiveState } from './live.svelte';
import type { RepMessage } from '../wire/types.gen';
import { pastWords } from './reading';
import { excessDeg } from './verdict';

export interface Reading {
  /** Whole degrees with sign, or null. */
  readonly number: string | null;
  readonly word: string;
  /** How far off the number may be, in words; empty when that is not known. */
  readonly spread?: string;
  /** How far past the band, in words; empty inside it. */
  readonly past: string;
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
  if (!drill || rep.worst_deg === null || rep.verdict === 'unknown') return { ...NOTHING, number: NO_VALUE, title };
  const excess = Math.max(1, Math.round(excessDeg(rep.worst_deg, drill)));
  const past = rep.verdict === 'in_band' ? '' : `${rep.verdict === 'below' ? '▼' : '▲'} ${excess}° past`;
  const word = drill.quantity === 'shaft_pitch' ? '' : Math.round(rep.worst_deg) === 0 ? AS_AT_ADDRESS : sideWord(drill.quantity, rep.worst_deg > 0);
  return { number: whole(rep.worst_deg), word, past, title };
}
