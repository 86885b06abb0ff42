/** What the student's page shows of a lesson: who steers, and what the coach says. */
import type { ControlMessage } from '../wire/types.gen';
import { DISMISS } from './common';

type ControlReason = NonNullable<ControlMessage['reason']>;

export interface ControlWords {
  text: string;
  /** Null: what it does is to put the line away. */
  hold: boolean | null;
  /** Empty: there is nothing to do. */
  button: string;
}

/** What a page shows about the control; null when there is nothing to show. */
export function controlWords(role: string, holder: 'student' | 'coach', reason: ControlReason | null): ControlWords | null {
  if (role === 'viewer') return holder === 'coach' ? { text: 'The coach is steering.', hold: null, button: '' } : null;
  if (role === 'coach') return holder === 'coach' ? { text: 'You are steering this practice.', hold: false, button: 'Hand back' } : { text: 'The student is steering.', hold: true, button: 'Take over' };
  if (holder === 'coach') return { text: 'Your coach is steering.', hold: true, button: 'Take back' };
  if (reason === 'asked') return { text: 'Your coach has handed back. You are steering.', hold: null, button: DISMISS };
  if (reason === 'coach_gone') return { text: 'Your coach has gone. You are steering again.', hold: null, button: DISMISS };
  return null;
}

/** Why drill, band, look-ahead and fit cannot be changed on a page whose role does not steer. */
export function lockedWords(role: string): string {
  if (role === 'viewer') return 'You look on: this is for the student and the coach.';
  return role === 'coach' ? 'The student is steering. Take over to change this.' : 'Your coach is steering. Take back to change this here.';
}
export const COACH_SAYS = 'Your coach says';
export const SAID_READ = 'I have read it';
