/** The page on which a drill is changed. */
import type { Phase, Quantity, TriedMessage } from '../wire/types.gen';
import { amountWords, excessWords, isOfWholeSwing, unitOf } from './amount';
import { sideWord } from './swing';

export const EDIT_TITLE = 'Change the drill';
export const TRIAL_TITLE = 'On the last rep';
export const TRIAL_WAITS = 'Trying it on the last rep…';
export const FORM_WAITS = 'The drill is being fetched…';
export const BEGIN_FROM = 'Begin from';
export const IN_FORCE = 'The drill in force';
export const DRILL_NAME = 'Name';
export const DRILL_AIM = 'Aim: what a good rep looks like';
export const DRILL_FEEL = 'Feel: the one thing to think of';
export const WATCHED = 'What is watched';
export const OF_WHOLE_SWING = 'Known once a swing: one short sound at the top, or after the ball for tempo.';
export const COUNTS_FROM = 'Counts from';
export const COUNTS_TO = 'to';
export const MARK_WORDS: Readonly<Record<string, string>> = { takeaway: 'takeaway', shaft_level: 'shaft level', lead_arm_level: 'lead arm level', top: 'the top', down: 'the way down' };

/** The phase that begins at a mark of a drill's file. */
export const MARK_PHASE: Readonly<Record<string, Phase>> = { takeaway: 'takeaway', shaft_level: 'shaft_level', lead_arm_level: 'arm_level', top: 'top', down: 'downswing' };

/** Under the drawing of a rep there is room for three. */
export function markShort(phase: Phase): string {
  return { takeaway: 'takeaway', arm_level: 'arm level', top: 'top' }[phase as string] ?? '';
}

export function numberLabel(key: 'low' | 'high' | 'warn' | 'hysteresis', unit: string): string {
  return `${{ low: 'Band from', high: 'Band to', warn: 'Tick inside the edge', hysteresis: 'Cue stops inside the edge' }[key]}, ${unit}`;
}

export function leastBand(least: number, quantity: Quantity): string {
  return `At least ${least}${{ deg: '°', s: ' s', ratio: '' }[unitOf(quantity)]} wide: twice the error.`;
}

export const WARN_NOTE = 'Empty: no tick.';
export const HYSTERESIS_NOTE = 'So that it does not flutter.';
export const BLOCKS_TITLE = 'Blocks';
export const BLOCKS_NOTE = 'Without blocks every rep is cued and nothing is counted.';
export const REPS = 'Reps';
export const CUE_OF_BLOCK = 'Cue';
export const ADD_BLOCK = 'Add a block';

export function blockWord(number: number): string {
  return `Block ${number}`;
}

export function removeBlock(number: number): string {
  return `Take block ${number} away`;
}

export const PUT_IN_FORCE = 'Put it in force';
export const KEEP_AS = 'Keep it under the name';
export const KEEP_NOTE = 'Small letters, digits and hyphens. The name of a drill that there is takes its place.';
export const KEEP = 'Keep it';

export function keptWords(id: string): string {
  return `Kept as ${id}.`;
}

/** What a drill on trial would have made of the last rep. */
export function trialWords(tried: TriedMessage, quantity: Quantity, band: { low: number; high: number }): string {
  if (tried.problem) return `Not yet a drill: ${tried.problem}.`;
  if (!tried.verdict) return 'There is no rep yet to try it on.';
  const worst = tried.worst ?? null;
  if (tried.verdict === 'unknown' || worst === null) return 'The last rep cannot be judged by it.';
  const value = amountWords(worst, quantity);
  const past = tried.verdict === 'below' ? band.low - worst : worst - band.high;
  const verdict = tried.verdict === 'in_band' ? `in the band, nearest its edge at ${value}` : `${sideWord(quantity, tried.verdict === 'above')} ${excessWords(past, quantity)} past the band, at ${value}`;
  return `The last rep: ${isOfWholeSwing(quantity) ? verdict.replace(', nearest its edge at', ',') : verdict}. ${soundWords(tried)}`;
}

function soundWords(tried: TriedMessage): string {
  const spans = tried.spans ?? [];
  const ticks = (tried.signals ?? []).filter((one) => one.kind === 'edge').length;
  const told = (tried.signals ?? []).some((one) => one.kind !== 'edge');
  if (told) return 'One short sound would have told it.';
  const forS = spans.reduce((sum, one) => sum + one.to_s - one.from_s, 0).toFixed(2);
  const cue = spans.length === 0 ? 'No cue' : `A cue ${spans.length === 1 ? 'once' : `${spans.length} times`}, for ${forS} s`;
  return `${cue}${ticks ? `, and ${ticks === 1 ? 'a tick' : `${ticks} ticks`}` : ''}.`;
}

/** The drawing of a rep on trial, for whoever does not see it. */
export function trialPicture(tried: TriedMessage): string {
  const spans = (tried.spans ?? []).map((one) => `${one.from_s.toFixed(2)} to ${one.to_s.toFixed(2)} s`).join(', ');
  return `The last rep from its takeaway on.${spans ? ` The cue would have sounded from ${spans}.` : ' No cue would have sounded.'}`;
}
