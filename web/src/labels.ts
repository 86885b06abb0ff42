/** The player's words for what the wire calls by its anatomical or technical name. No other file holds them. */
import type { Status } from './state/live.svelte';
import type { DrillView, LinkReason, LinkState, Move, Phase, Quantity, Role, Side } from './wire/types.gen';

/** Phases as the strip shows them, in order of the swing. Down and impact pass too quickly to be told apart by eye. */
export const PHASE_STEPS: readonly { label: string; phases: readonly Phase[] }[] = [
  { label: 'between reps', phases: ['idle'] },
  { label: 'address', phases: ['address'] },
  { label: 'takeaway', phases: ['takeaway'] },
  { label: 'shaft level', phases: ['shaft_level'] },
  { label: 'lead arm level', phases: ['arm_level'] },
  { label: 'top', phases: ['top'] },
  { label: 'down', phases: ['downswing', 'impact'] },
  { label: 'finish', phases: ['finish'] }
];

export function markWord(mark: 'shaft_level' | 'arm_level' | 'top'): string {
  return { shaft_level: 'shaft level', arm_level: 'lead arm level', top: 'the top' }[mark];
}

export function quantityWord(quantity: Quantity): string {
  return { bend_change: 'Wrist bend', shaft_pitch: 'Shaft pitch', face_twist: 'Face twist since address' }[quantity];
}

/** What a value beyond the band's edge is called; `above` is the side of larger numbers. */
export function sideWord(quantity: Quantity, above: boolean): string {
  switch (quantity) {
    case 'bend_change':
      return above ? 'bowed' : 'cupped';
    case 'shaft_pitch':
      return above ? 'steep' : 'flat';
    case 'face_twist':
      return above ? 'shut' : 'open';
  }
}

export function bandWords(drill: DrillView): string {
  const [low, high] = [drill.low_deg, drill.high_deg].map((deg) => signed(deg, drill.quantity !== 'shaft_pitch'));
  return `Band ${low} to ${high}`;
}

export function bendWord(deg: number): string {
  const whole = Math.round(deg);
  return whole === 0 ? 'as at address' : whole < 0 ? 'cupped' : 'bowed';
}

export function pitchWord(deg: number, addressDeg: number | null): string {
  if (addressDeg === null) return 'to the ground';
  const change = Math.round(deg) - Math.round(addressDeg);
  if (change === 0) return 'as at address';
  return `${Math.abs(change)}° ${change > 0 ? 'steeper' : 'flatter'}`;
}

/** Whole degrees with a true minus sign; the plus only where the sign carries meaning. */
export function signed(deg: number, withPlus = true): string {
  const whole = Math.round(deg);
  return `${whole < 0 ? '−' : whole > 0 && withPlus ? '+' : ''}${Math.abs(whole)}°`;
}

export const NO_VALUE = '–';

export const ROLE_WORDS: Readonly<Record<Role, string>> = { forearm: 'Forearm', club: 'Club' };

export const LEAD_WORDS: Readonly<Record<Side, string>> = { left: 'lead arm left', right: 'lead arm right' };

export function linkWords(state: LinkState, reason: LinkReason): string {
  if (state === 'streaming') return reason === 'silent' ? 'silent' : 'sending';
  return { searching: 'searching', connecting: 'connecting', lost: 'link lost', stopped: reason === 'end_of_recording' ? 'recording over' : 'stopped' }[state];
}

export const STATUS_WORDS: Readonly<Record<Status, string>> = {
  connecting: 'Connecting',
  lost: 'Server gone',
  waiting: 'Waiting',
  live: 'Live',
  stale: 'No fresh data',
  ended: 'Ended'
};

/** What the trouble is, whose it is, and what to do. Empty while all is well. */
export const STATUS_ADVICE: Readonly<Record<Status, string>> = {
  connecting: 'Connecting to Pitchbend on your computer.',
  lost: 'Pitchbend on your computer does not answer. Check that it is still running and that this device is on the same network; the page comes back by itself.',
  waiting: 'Connected. Waiting for the first reading from the sensors.',
  live: '',
  stale: 'No reading for over a second, so nothing is shown or sounded. Check both sensors below.',
  ended: 'The recording has ended.'
};

export const FIT_TITLE = 'Fit the sensors to you';
export const FIT_FEEL = 'Four poses, a breath each. Be still, tap, and stay still until it says so.';

export const FIT_ORDER: readonly { move: Move; title: string; how: string }[] = [
  { move: 'still', title: 'Lay both down', how: 'Put both sensors on the ground or a table and do not touch them.' },
  { move: 'arm_down', title: 'Arm down', how: 'Strap them on. Let the lead arm hang straight down with the club in hand and the wrist straight.' },
  { move: 'arm_level', title: 'Arm level', how: 'Same grip. Hold the lead arm straight out, level, thumb up, wrist straight.' },
  { move: 'club_hang', title: 'Club hanging', how: 'Hold the end of the grip between two fingers and let the club hang head down.' }
];

export const CAUTIONS: readonly string[] = [
  'Practice aid, not medical advice.',
  'Check that nobody, children above all, can walk into your swing.',
  'Stop if your wrist or palm hurts; pain on the little-finger side of the palm after hitting a mat or root needs a doctor.',
  'Keep the volume low enough to hear others.',
  'Build up repetitions slowly and take breaks.'
];
