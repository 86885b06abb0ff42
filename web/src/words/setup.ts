/** The set-up on a phone, step by step, and the cautions before it. */
import type { AddressFault, Step } from '../state/setup';
import type { Side } from '../wire/types.gen';
import { CHOOSING_TITLE } from './sensors';

export const CAUTIONS: readonly string[] = [
  'Practice aid, not medical advice.',
  'Check that nobody, children above all, can walk into your swing, practice swings included.',
  'Fix both sensors firmly: one that comes loose flies.',
  'Stop if your wrist or palm hurts; pain on the little-finger side of the palm after hitting a mat or root needs a doctor, and so does wrist pain that lasts over a week.',
  'Keep the volume low enough to hear others; with earphones leave one ear free.',
  'Build up repetitions slowly and take breaks.'
];

export const SETUP_TITLE = 'Set-up';

export function stepWords(step: number, of: number): string {
  return `Step ${step} of ${of}`;
}

export const STEP_WORDS: Readonly<Record<Step, string>> = {
  cautions: 'First of all',
  pair: CHOOSING_TITLE,
  trim: 'Calibrate the sensors',
  club: 'Which club?',
  drill: 'Which drill?',
  wear: 'Put them on',
  fit: 'Fit them to you',
  address: 'Stand to the ball'
};

export const CLUBS: readonly string[] = ['Driver', '3 wood', '5 wood', 'Hybrid', '4 iron', '5 iron', '6 iron', '7 iron', '8 iron', '9 iron', 'Pitching wedge', 'Sand wedge'];
export const OWN_CLUB = 'Or in your own words';
export const TAKE_IT = 'Take it';

export function changeWords(what: 'club' | 'drill'): string {
  return what === 'club' ? 'Another club' : 'Another drill';
}

export const WEAR_DONE = 'Both sit firmly';

export const WEAR_FOREARM: Readonly<Record<Side, string>> = {
  left: 'On the back of the left forearm, the one that leads, just above the wrist. So tight that it does not slip when you roll the arm.',
  right: 'On the back of the right forearm, the one that leads, just above the wrist. So tight that it does not slip when you roll the arm.'
};

export const WEAR_CLUB = 'On the grip, just below the hands, so firmly that it cannot be turned by hand.';

export const WEAR_PICTURE: Readonly<Record<Side, string>> = {
  left: 'The left forearm and hand on a club: one sensor on the back of the forearm above the wrist, one on the grip below the hand',
  right: 'The right forearm and hand on a club: one sensor on the back of the forearm above the wrist, one on the grip below the hand'
};

export const BEGIN = 'Begin';
export const NOW = 'I am ready now';
export const FIT_FIRST = 'Six moves, about a minute and a half. Tap once and step back: the page tells you each move, begins it by itself and says how it went.';
export const FIT_KNOWN = 'You are remembered: how the club lies in your hand and how you stand. Five moves, about half a minute; the first without the club, twice to and fro is enough. Tap once and step back.';
export const FIT_ALL = 'Do all the moves';
export const FIT_ALL_WHY = 'With a new grip or stance, or when figures look wrong. It also renews what is remembered.';
export const FIT_LATER = 'Six moves, less than a minute. Tap once and step back.';
export const GUIDE_TONES = 'Two short notes: move. One long note: hold still. Three quick notes rising: taken. Two long notes falling: once more.';
export const GUIDE_SPEAKS = 'Speak the moves';
export const GUIDE_WORDS: Readonly<Record<'hold' | 'watch', string>> = { hold: 'Hold still', watch: 'Move' };
export const GUIDE_WAITS = 'When you are still';
export const GUIDE_NO_DATA = 'No reading at this moment. The move begins when there is one again.';

export function leftWords(seconds: number): string {
  return seconds > 0 ? `In ${seconds} or sooner` : 'Now';
}

export const ENOUGH = 'Go on without the rest';
export const TRIM_COST = 'Without it the shaft’s angle at the top is about 1.2° off and bend 1.6°, with it 0.4° and 1.4° (simulated practices). It takes about a minute, once for new sensors, with both in your hands.';
export const TRIM_MAKE = 'Calibrate now';
export const TRIM_SKIP = 'Leave it out this time';
export const TRIM_INTRO = 'Lay both sensors down; then hold or lay them still on six different sides, one after the other. Each side begins by itself.';
export const TRIM_STILL = 'Lay both sensors down for a moment, so that their zero is known.';

export function sidesWords(sides: number, of: number): string {
  return `${sides} of ${of} sides`;
}

export const ADDRESS_SAYS = 'Stand to the ball and be still.';
export const ADDRESS_GO_ON = 'Go on without this';

export const ADDRESS_FAULT: Readonly<Record<AddressFault, string>> = {
  none: 'That is an address.',
  not_there: 'Stand to the ball as for a shot and be still for half a second.',
  steep: 'The shaft stands too upright for an address. Sole the club; if it is soled, fit the sensors again.',
  flat: 'The shaft lies too flat for an address. Sole the club; if it is soled, fit the sensors again.',
  cupped: 'The wrist reads far too cupped for an address. Take your grip; if you have it, make the straight wrist and palm moves again.',
  bowed: 'The wrist reads far too bowed for an address. Take your grip; if you have it, make the straight wrist and palm moves again.'
};

export const CAUTIONS_TITLE = 'Before you swing';
export const CAUTIONS_READ = 'I have read this';
