/** The coach page's words, alone in a file so that a student's phone does not load them. */
import type { Status } from '../state/live.svelte';
import type { BoardStatus } from '../state/board.svelte';
import type { TraceName } from '../state/swing';
import { unitOf } from './amount';
import { NO_VALUE, signed } from './common';
import { sideWord } from './swing';
import type { BoardBay, BoardCourse, ControlMessage, Phase, Quantity, Verdict } from '../wire/types.gen';

export const COACH_TITLE = 'Coach';
export const STUDENTS_TITLE = 'Students';
export const ALL_STUDENTS = 'All students';
export const CHOOSE_ONE = 'Tap a student to see the swing as it happens.';

export const BOARD_WORDS: Readonly<Record<BoardStatus, string>> = { connecting: 'Connecting', open: 'Live', lost: 'Server gone', refused: 'Not let in' };
export const BOARD_ADVICE: Readonly<Record<BoardStatus, string>> = {
  connecting: 'Connecting to Pitchbend.',
  open: '',
  lost: 'Pitchbend does not answer, so nothing here is of now. Check that it is still running and that this device is on the same network; the page comes back by itself.',
  refused: 'This link is not a coach’s. Open the coach link that Pitchbend printed when it was started, or scan its code on the Join page.'
};
export const NO_STUDENTS = 'No student yet';
export const NO_STUDENTS_HOW = [
  'Start a practice on the computer with “pitchbend live”, or “pitchbend demo” to look round without sensors.',
  'With “--lan” it prints a link for each student and one for you.',
  'On a board for several computers (“pitchbend board”), start each practice with “--bus” and the board’s address.',
  'Each student’s card appears here by itself.'
];
export const NO_SUCH_STUDENT = 'There is no such student here any more. Choose one of the others.';
export const WRONG_STUDENT = 'The service sent another student’s data, so nothing is shown. Choose the student again; if it comes back, start Pitchbend anew.';

export const PHASE_WORDS: Readonly<Record<Phase, string>> = {
  idle: 'between reps',
  address: 'at address',
  takeaway: 'takeaway',
  shaft_level: 'shaft level',
  arm_level: 'lead arm level',
  top: 'top',
  downswing: 'down',
  impact: 'impact',
  finish: 'finish'
};
export const BAY_ADVICE: Readonly<Record<BoardBay['status'], string>> = {
  waiting: '',
  live: '',
  stale: 'No reading for over a second: a sensor is silent, or a fit is being worked out.',
  ended: '',
  away: ''
};

export const VERDICT_WORDS: Readonly<Record<Verdict, string>> = { in_band: 'in the band', below: 'past the band', above: 'past the band', unknown: 'not judged' };

export function countWords(bay: BoardBay): string {
  if (bay.n_reps === 0) return 'no rep yet';
  const reps = `${bay.n_reps} ${bay.n_reps === 1 ? 'rep' : 'reps'}`;
  return bay.n_judged === 0 ? `${reps}, none judged` : `${bay.n_in_band} of ${bay.n_judged} judged in the band`;
}

export function blockWords(course: BoardCourse | null): string {
  if (!course) return '';
  if (course.block === null) return 'all blocks done';
  const where = `block ${course.block + 1} of ${course.n_blocks}, rep ${Math.min(course.rep + 1, course.reps)} of ${course.reps}`;
  return course.testing ? `${where}: test` : where;
}

export const HOLDER_WORDS: Readonly<Record<ControlMessage['holder'], string>> = { student: 'The student steers', coach: 'You steer' };
/** On a card: which of several coaches it is, the board does not tell. */
export const CARD_HOLDER: Readonly<Record<ControlMessage['holder'], string>> = { student: 'student steers', coach: 'coach steers' };
export const TAKE_CONTROL = 'Take control';
export const GIVE_CONTROL = 'Give control back';
export const CONTROL_WHAT = 'Who steers may change drill, band, look-ahead and fit. The other sees who it is.';
export function handOverWords(news: ControlMessage): string {
  switch (news.reason ?? 'start') {
    case 'taken_back':
      return 'The student took control back.';
    case 'coach_gone':
      return 'Control went back to the student: the coach’s page was gone.';
    case 'asked':
      return news.holder === 'coach' ? 'A coach has taken control. The student’s page shows it.' : 'The student has control again.';
    case 'start':
      return '';
  }
}
export const NOT_SENT = 'Not sent: the server does not answer.';
export const TEST_NOW = 'Test under way: the student sees and hears no figures. What you tell now counts as help.';

export const TRACE_WORDS: Readonly<Record<TraceName, string>> = { bend_change: 'Bend', shaft_pitch: 'Pitch', roll_change: 'Roll', face_twist: 'Face twist', bend: 'Bend from straight' };
export const TRACE_TITLE = 'This swing against the last';
export const TRACE_EMPTY = 'The line appears with the first takeaway.';
export const SHOW_EARLIER = 'Five reps before';
export const MARK_SHORT = { shaft_level: 'shaft level', arm_level: 'lead arm level', top: 'top' } as const;
export const NO_BAND_HERE = 'The drill’s band is about another quantity.';
export function plusWords(quantity: TraceName): string {
  return `${signsOf(quantity, true)} ${sideWord(quantity, true)}, ${signsOf(quantity, false)} ${sideWord(quantity, false)}`;
}
function signsOf(quantity: TraceName, above: boolean): string {
  if (quantity === 'shaft_pitch') return above ? 'higher:' : 'lower:';
  return above ? '+' : '−';
}
export function holeWords(nHoles: number, nMissed: number, nFrames: number, cut: boolean): string {
  const parts = [];
  if (nHoles > 0) parts.push(`The line is broken in ${nHoles === 1 ? 'one place' : `${nHoles} places`} where nothing came.`);
  if (nMissed > 0.2 * nFrames) parts.push(`${nMissed} readings did not reach this page, which draws ${nFrames}: the link is slow.`);
  if (cut) parts.push('The swing went on for too long to be drawn to its end.');
  return parts.join(' ');
}

export const READOUTS_TITLE = 'The last reps';
export const READOUTS_EMPTY = 'No rep yet. Values at shaft level, lead arm level and top appear here.';
export const READOUTS_NOTE = '± is one standard deviation, rounded up; it is known for bend and pitch of swings that this page saw.';
export const MARK_GOOD = 'Good';
export const MARK_LOOK = 'Look at';

/** Bend and its like carry their sign; a pitch has none. */
export function degreesOf(quantity: TraceName, deg: number | null | undefined): string {
  return typeof deg === 'number' ? signed(deg, quantity !== 'shaft_pitch') : NO_VALUE;
}

export const STEER_TITLE = 'Drill and band';
export const STEER_LOCKED = 'The student steers. Take control to change drill, band or look-ahead.';
export const BAND_TITLE = 'Band';
export const BAND_EDGES = { low: 'Lower edge', high: 'Upper edge' } as const;
export function leastWords(least: number, quantity: Quantity): string {
  const wide = unitOf(quantity) === 'deg' ? `${Math.ceil(least)}°` : unitOf(quantity) === 's' ? `${least.toFixed(2)} s` : least.toFixed(1);
  return `At least ${wide} wide, twice what the figure may be wrong by: a narrower band would cue noise. The student hears the new band from the next swing on, in a course begun anew.`;
}
export const SECOND_TITLE = 'A second drill';
export const SECOND_NONE = 'none';
export const SECOND_WHAT = 'Judged beside the first and never heard. One thing at a time is learnt best: leave it at none unless you have a reason.';
export const LOOK_AHEAD = 'Look-ahead';

export const SAY_TITLE = 'Say to the student';
export const SAY_OWN = 'In your own words';
export const SAY_SEND = 'Send';
export const SAY_LINES: readonly string[] = [
  'Good. Once more just like that.',
  'Slower going back.',
  'Turn first; let the wrist be quiet.',
  'Stand up, breathe, set up again.',
  'Stop for a moment, I am coming over.'
];
export const SAID_LAST = 'Last sent:';

export const NOTES_TITLE = 'Notes';
export const NOTE_ABOUT = 'About';
export const NOTE_PRACTICE = 'the practice';
export const NOTE_TEXT = 'Note';
export const NOTE_KEEP = 'Keep';
export const NOTES_EMPTY = 'Nothing noted yet.';
export const LISTEN_ON = 'You hear this student’s cue';
export const LISTEN_OFF = 'Silent; tap to hear the cue here';
export const LISTEN_FAILED = 'This browser gives no sound';

/** What the trouble with the enlarged student's practice is. Empty while all is well. */
export const STATUS_NOTICE: Readonly<Record<Status, string>> = {
  connecting: '',
  lost: 'Pitchbend does not answer for this student, so nothing is of now; the page comes back by itself.',
  waiting: 'Waiting for the first reading from this student’s sensors.',
  live: '',
  stale: 'No reading for over a second: a sensor is silent, or a fit is being worked out. Nothing is shown as if it were now.',
  ended: 'The practice has ended.',
  refused: 'This practice is not open to this device.',
  sent_away: 'This device was sent away on the Join page, so nothing is shown.'
};
export const TRACE_FAILED = 'The line could not be loaded. Check the network and load the page again.';

export const COACH_PAGE_TITLE = 'Coach · Pitchbend';
export const CARD_BEND = 'bend';
export const CARD_PITCH = 'pitch';
export const CARD_SOUNDING = 'cue sounding';
export const LISTENING = 'Listening';
export const LISTEN = 'Listen';
export const WHAT_IS_SHOWN = 'What is shown';
export const REP_COLUMN = 'rep';
export const MARK_COLUMN = 'mark';
export const KEY = { now: 'now', ghost: 'last rep', earlier: 'before', band: 'band' } as const;

export function repVerdictWords(index: number, verdict: Verdict): string {
  return `Rep ${index} ${VERDICT_WORDS[verdict]}`;
}
export function nowWords(quantity: string): string {
  return `${quantity} now`;
}
export function noteLead(rep: number | null): string {
  return rep === null ? 'Practice:' : `Rep ${rep}:`;
}
export function noteOption(rep: number): string {
  return `rep ${rep}`;
}
export function markRepWords(what: string, rep: number): string {
  return `${what}: rep ${rep}`;
}
export function lessWords(what: string): string {
  return `${what}: less`;
}
export function moreWords(what: string): string {
  return `${what}: more`;
}
export function msWords(ms: number): string {
  return `${ms} ms`;
}
export function plotWords(quantity: string): string {
  return `${quantity} over the time since the takeaway; its values at the marks are in the table below`;
}
