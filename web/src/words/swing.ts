/** The swing in the player's words: its phases, its quantities, and on which side a value is. */
import type { DrillView, FrameMessage, Phase, Quantity } from '../wire/types.gen';
import { type EndQuantity, amountWords, numberOf, unitOf } from './amount';

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

export type Mark = 'shaft_level' | 'arm_level' | 'top';
export function markWord(mark: Mark): string {
  return { shaft_level: 'shaft level', arm_level: 'lead arm level', top: 'the top' }[mark];
}

export function quantityWord(quantity: Quantity): string {
  return {
    bend_change: 'Wrist bend',
    bend: 'Wrist bend from straight',
    shaft_pitch: 'Shaft pitch',
    face_twist: 'Face twist since address',
    roll_change: 'Forearm roll since address',
    arm_length: 'Swing length, arm',
    shaft_length: 'Swing length, shaft past level',
    backswing_time: 'Time back',
    tempo: 'Tempo, back to down'
  }[quantity];
}

/** Quantities without a picture, and where a frame holds them. */
export type OtherQuantity = Exclude<Quantity, 'bend_change' | 'shaft_pitch'>;

export const OTHER_FIELD: Readonly<Record<Exclude<OtherQuantity, EndQuantity>, keyof FrameMessage & ('bend_deg' | 'face_twist_deg' | 'roll_change_deg')>> = {
  bend: 'bend_deg',
  face_twist: 'face_twist_deg',
  roll_change: 'roll_change_deg'
};

export function isOther(quantity: Quantity): quantity is OtherQuantity {
  return quantity !== 'bend_change' && quantity !== 'shaft_pitch';
}

/** What a value beyond the band's edge is called; `above` is the side of larger numbers. */
export function sideWord(quantity: Quantity, above: boolean): string {
  switch (quantity) {
    case 'bend_change':
    case 'bend':
      return above ? 'bowed' : 'cupped';
    case 'shaft_pitch':
      return above ? 'steep' : 'flat';
    case 'face_twist':
      return above ? 'shut' : 'open';
    case 'roll_change':
      return above ? 'rolled' : 'unrolled';
    case 'arm_length':
    case 'shaft_length':
      return above ? 'long' : 'short';
    case 'backswing_time':
      return above ? 'slow' : 'quick';
    case 'tempo':
      return above ? 'slow back' : 'quick back';
  }
}

export function bandWords(drill: DrillView): string {
  const low = unitOf(drill.quantity) === 'deg' ? amountWords(drill.low, drill.quantity) : numberOf(drill.low, drill.quantity);
  return `Band ${low} ${unitOf(drill.quantity) === 'deg' ? 'to' : '–'} ${amountWords(drill.high, drill.quantity)}`;
}

export const AS_AT_ADDRESS = 'as at address';
export const STRAIGHT = 'straight';
export const END_ON = 'shaft points along your line';

export function bendWord(deg: number): string {
  const whole = Math.round(deg);
  return whole === 0 ? AS_AT_ADDRESS : whole < 0 ? 'cupped' : 'bowed';
}

export function pitchWord(deg: number, addressDeg: number | null): string {
  if (addressDeg === null) return 'to the ground';
  const change = Math.round(deg) - Math.round(addressDeg);
  if (change === 0) return AS_AT_ADDRESS;
  return `${Math.abs(change)}° ${change > 0 ? 'steeper' : 'flatter'}`;
}

export const BEND_PICTURE = 'The lead hand on the forearm, seen from the thumb side: cupped to one side, bowed to the other';
export const PITCH_PICTURE = 'The shaft leaning over the ball line, seen from behind the hands, with the shaft at address dotted and the last rep in grey';
export const PHASE_TITLE = 'Where in the swing';
export const ONCE_A_SWING = 'known once a swing';
export const IN_THE_BAND = 'in the band';
export function pastBand(below: boolean, amount: string): string {
  return `${below ? '▼' : '▲'} ${amount} past`;
}
export const GHOST = 'last rep';
