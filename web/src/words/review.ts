/** The review page's words. */
import type { Sort } from '../state/review/ranking';
import type { Knot } from '../state/review/phase';
import type { ViewName } from '../scene/view';
import type { Column, Drawn, RepKind, Stint, Verdict } from '../api/kinds';
import type { Units } from '../state/units.svelte';
import { minus, NO_VALUE, signed } from './common';
import { UNIT_MARK } from './length';

export const REVIEW_TITLE = 'Review';
export const REVIEW_PAGE_TITLE = 'Review · Pitchbend';
export const TO_LIVE = 'Live page';
export const TRY_AGAIN = 'Try again';
export const LOADING = 'Loading';

export const PRACTICES_TITLE = 'Practices';
export const ALL_PRACTICES = 'All practices';
export const PLAYER = 'Player';
export const ALL_PLAYERS = 'all';
export const NO_NAME = 'no name given';
export const SHOW_MORE = 'Show more';
export const NO_PRACTICES = 'No practice here yet';
export const NO_PRACTICES_HOW = [
  'Practise with “pitchbend live”, or look round with “pitchbend demo”.',
  'Then run “pitchbend review” on this computer with the folder of the recordings: it works them out and keeps what came of each.',
  'Load this page again.'
];
export const NOTHING_SHOWN = 'Nothing stored is shown here';
export function onlyOfWords(player: string): string {
  return player ? `By your link: the practices of ${player}, and what was sent from this device.` : 'By your link: what was sent from this device. The practice you joined has no player’s name.';
}
export function playerName(name: string): string {
  return name || NO_NAME;
}
export function dayWords(day: string, unixS: number, offsetS: number): string {
  const clock = new Date((unixS + offsetS) * 1000).toISOString().slice(11, 16);
  return `${dateWords(day)}, ${clock}`;
}
function dateWords(day: string): string {
  return new Date(`${day}T12:00:00Z`).toLocaleDateString('en-GB', { weekday: 'short', day: 'numeric', month: 'long', year: 'numeric', timeZone: 'UTC' });
}
export function repsWords(nReps: number, nJudged: number, nInBand: number): string {
  return `${nReps} ${nReps === 1 ? 'rep' : 'reps'}, ${nJudged === 0 ? 'none judged' : `${nInBand} of ${nJudged} judged in the band`}`;
}
export function minutesWords(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  return minutes < 1 ? 'under a minute' : `${minutes} min`;
}
export const NO_RECORDING = 'Recording not found: the values at the marks are here, the lines and the picture are not.';

export const REPS_TITLE = 'Reps';
export const NO_REPS = 'No rep like that in this practice.';
export const STRIP_LABEL = 'Reps in order';
export const KIND_WORDS: Readonly<Record<RepKind, string>> = { cued: 'cued', silent: 'silent', test: 'test', paused: 'paused' };
export const VERDICT_WORDS: Readonly<Record<Verdict, string>> = { in_band: 'in the band', below: 'below the band', above: 'above the band', unknown: 'not judged' };
export const FILTERS = { drill: 'Drill', kind: 'Cue', verdict: 'Verdict' } as const;
export const ANY = 'all';
export const SORT_WORDS: Readonly<Record<Sort, string>> = { number: 'Rep', kind: 'Cue', verdict: 'Verdict', worst: 'Worst', bend: 'Bend, top', pitch: 'Pitch, arm level', backswing: 'Back', tempo: 'Tempo' };
export function stripKey(): string {
  return 'Circle: in the band. Triangle down: below it; up: above it. Dash: not judged. Thick with the cue, thin without; underlined: test.';
}
export function countedWords(shown: number, all: number, complete: boolean): string {
  return `${shown === all ? `${all}` : `${shown} of ${all}`} ${all === 1 ? 'rep' : 'reps'}${complete ? '' : ', more are coming'}`;
}
export function repTitle(number: number): string {
  return `Rep ${number}`;
}
export function repWords(number: number, verdict: Verdict, kind: RepKind): string {
  return `Rep ${number}, ${VERDICT_WORDS[verdict]}, ${KIND_WORDS[kind]}`;
}
export function degrees(deg: number | null | undefined, plus = true): string {
  return typeof deg === 'number' ? signed(deg, plus) : NO_VALUE;
}
export function tenths(deg: number | null | undefined, plus = true): string {
  if (typeof deg !== 'number') return NO_VALUE;
  const shown = Math.abs(deg).toFixed(1);
  return `${Number(shown) === 0 ? '' : deg < 0 ? '−' : plus ? '+' : ''}${shown}°`;
}
export function amount(value: number | null, unit: string): string {
  if (value === null) return NO_VALUE;
  return unit === 'deg' ? degrees(value) : unit === 's' ? `${value.toFixed(2)} s` : value.toFixed(1);
}
export function seconds(s: number | null): string {
  return s === null ? NO_VALUE : `${s.toFixed(2)} s`;
}
export function ratio(value: number | null): string {
  return value === null ? NO_VALUE : value.toFixed(1);
}
/** One standard deviation, rounded up, so that it is never said smaller than it is. */
export function spread(sd: number | null | undefined): string {
  return typeof sd === 'number' ? `± ${(Math.ceil(sd * 10) / 10).toFixed(1)}°` : '';
}
export const SPREAD_NOTE = '± and the grey band along the line are one standard deviation of the measurement.';
export function bandWords(stint: Stint): string {
  return `${stint.name}: band ${amount(stint.low, stint.unit)} to ${amount(stint.high, stint.unit)}`;
}

export const COLUMN_WORDS: Readonly<Record<Column, string>> = {
  bend_change_deg: 'Bend',
  shaft_pitch_deg: 'Pitch',
  shaft_elevation_deg: 'Elevation',
  face_twist_deg: 'Face twist',
  forearm_roll_deg: 'Roll',
  hinge_change_deg: 'Hinge',
  bend_deg: 'Bend from straight'
};
export const DRAWN_WORDS: Readonly<Record<Drawn, string>> = { ...COLUMN_WORDS, butt_line_m: 'Butt line' };
/** What + and − mean. */
export const COLUMN_SIGNS: Readonly<Record<Column, string>> = {
  bend_change_deg: 'since address; + bowed, − cupped',
  shaft_pitch_deg: 'seen down the line; higher is steeper',
  shaft_elevation_deg: 'shaft to the ground; − with the head below the hands',
  face_twist_deg: 'since address; + shut, − open',
  forearm_roll_deg: 'since address; + palm down',
  hinge_change_deg: 'since address; + toward the little finger, − toward the thumb',
  bend_deg: 'from the straight wrist; + bowed, − cupped'
};
export const DRAWN_SIGNS: Readonly<Record<Drawn, string>> = { ...COLUMN_SIGNS, butt_line_m: 'where the shaft line meets the ground; + inside, − outside the ball line' };
/** At a line of an axis. */
export function axisWords(column: Drawn, value: number, units: Units): string {
  const number = minus(`${value}`);
  return column === 'butt_line_m' ? `${number} ${UNIT_MARK[units]}` : `${number}°`;
}
export const SIGNED_COLUMNS: Readonly<Record<Column, boolean>> = { bend_change_deg: true, shaft_pitch_deg: false, shaft_elevation_deg: true, face_twist_deg: true, forearm_roll_deg: true, hinge_change_deg: true, bend_deg: true };
export const KNOT_WORDS: Readonly<Record<Knot, string>> = { takeaway: 'takeaway', shaft_level: 'shaft level', lead_arm_level: 'lead arm level', top: 'top', impact: 'impact' };

export const SHOWN_LABEL = 'What is drawn';
export const AXIS_LABEL = 'Against';
export const AXIS_WORDS = { time: 'time', phase: 'phase' } as const;
export const TO_IMPACT = 'to impact';
export const COMPARE_LABEL = 'Laid over';
export const COMPARE_WHAT = 'Best, model and mean';
export const BEST = 'Best here';
export const BEST_WHAT = 'Best here: of this practice’s reps of the same drill, the one whose worst instant is nearest to the middle of the band.';
export const BEST_EVER = 'Best ever';
/** Beside its line, where there is little room. */
export const BEST_EVER_SHORT = 'Best';
export const BEST_EVER_WHAT = 'Best ever: likewise, of all of this player’s practices whose recording is here.';
export function bestEverWords(found: { readonly number: number; readonly day: string } | null | undefined, own: boolean): string {
  if (found === undefined) return LOADING;
  if (found === null) return 'Best ever: no rep of this drill could be judged in a practice whose recording is here.';
  return own ? 'Best ever: it is this rep.' : `Best ever: rep ${found.number} of ${dateWords(found.day)}.`;
}
export const BEFORE = 'Before';
export const MODEL = 'Model';
export function makeModelWords(player: string): string {
  return `Make this rep the model for ${player || 'this player'}`;
}
export const MAKE_MODEL_ALL = 'Make it the model for all players';
export const MODEL_AWAY = 'Take the model away';
export function modelWords(model: { readonly number: number; readonly player?: string; readonly day?: string }): string {
  const of = [model.day ? dateWords(model.day) : '', model.player ?? ''].filter((one) => one).join(', ');
  return `Model: rep ${model.number}${of ? ` of ${of}` : ''}.`;
}
export const IS_MODEL = 'This rep is the model';
export const NO_MODEL = 'No model chosen: open the rep that should be one and make it the model here.';
export const MEAN = 'Mean';
export function meanWords(n: number): string {
  return n < 3 ? 'Mean and spread need three reps of the same drill with lines.' : `Dotted, with its wash: mean of ${n} reps of this drill, plus and minus one standard deviation from rep to rep.`;
}
export const OVERLAY_COLUMN = 'Laid over';
export function overlayWords(number: number, on: boolean): string {
  return on ? `Take rep ${number} away` : `Lay rep ${number} over`;
}
export function overlayShort(number: number): string {
  return `${number}`;
}
export const OVERLAYS_FULL = 'Six reps may be laid over at once.';
export function traceWords(column: Drawn, number: number): string {
  return `${DRAWN_WORDS[column]} of rep ${number}; its values at the marks are in the table below`;
}
export function notComparable(missing: readonly string[]): string {
  return missing.length === 0 ? '' : `Not passed in this rep: ${missing.join(', ')}. Beside it there is no line against phase.`;
}
export const NO_LINES = 'There are no lines for this rep.';
export function workingWords(done: number): string {
  return `The recording is being worked out: ${Math.floor(done * 100)} %.`;
}

export const PATH_TITLE = 'Bend against pitch';
export const PATH_WORDS = 'Pitch over bend, from the takeaway to the top; the ring is the instant shown';
export const PATH_X = 'cupped − bend + bowed';
export const PATH_Y = 'pitch';

export const INSTANT = 'Instant';
export const PLAY = 'Play slowly';
export const STOP = 'Stop';
export const SPEED = 'Speed';
export const SPEEDS = [
  { share: 0.25, words: 'quarter' },
  { share: 0.1, words: 'tenth' },
  { share: 1, words: 'full' }
] as const;
export function instantWords(tS: number, place: string): string {
  const time = `${tS < 0 ? '−' : ''}${Math.abs(tS).toFixed(2)} s`;
  return place ? `${time}, ${place}` : time;
}
export function placeWords(knot: Knot | null, next: Knot | null, at: boolean): string {
  if (at && knot) return `at ${KNOT_WORDS[knot]}`;
  if (knot && next) return `between ${KNOT_WORDS[knot]} and ${KNOT_WORDS[next]}`;
  return knot ? `after ${KNOT_WORDS[knot]}` : 'before the takeaway';
}

export const VALUES_TITLE = 'Values at the marks';
export const NOW_COLUMN = 'now';
export const QUANTITY_COLUMN = 'quantity';

export const SCENE_TITLE = 'Arm, hand and club';
export const VIEW_WORDS: Readonly<Record<ViewName, string>> = { face_on: 'Face-on', down_line: 'Down the line', free: 'Free' };
export const VIEW_LABEL = 'Seen';
export const TURN = 'Turn';
export const RAISE = 'Height';
export const SCENE_NOTE = 'Firm lines were measured: forearm, hand, club. Dashed ones are a model: the shoulder, the way to it, and where the shaft line meets the ground.';
export const LENGTHS_NOTE = 'Lengths not given are common ones.';
export const NO_WEBGL = 'This browser does not draw in three dimensions, so the picture is left out; the figures are in the table and everything else on this page works.';
export const SCENE_FAILED = 'The picture could not be loaded. Check the network and load the page again.';
export const NO_POSE = 'At this instant the sensors could not say where arm and club were.';
export function sceneWords(view: ViewName, at: string, values: readonly string[]): string {
  return `Forearm, hand and club, ${VIEW_WORDS[view].toLowerCase()}, ${at}. ${values.join(', ')}.`;
}
export function valueWords(column: Column, deg: number | null): string {
  return `${COLUMN_WORDS[column].toLowerCase()} ${deg === null ? 'not known' : degrees(deg, SIGNED_COLUMNS[column])}`;
}
export const OTHER_CLUB = 'Thin: the first rep laid over, at the same point of its swing.';

export const WHAT_IF_TITLE = 'What if';
export const WHAT_IF_NOTE = 'Only the wrist’s bend and the forearm’s roll change. Everything else is held still: where the arm is, the hinge, the grip. A swing would not do that; it shows which way each one moves the club.';
export const BEND_BY = 'Bend by';
export const ROLL_BY = 'Roll by';
export const RESET = 'As it was';
export const WAS = 'as it was';
export const WOULD = 'would be';
export const SEEN_WORDS = { shaft_pitch_deg: 'Pitch', shaft_elevation_deg: 'Elevation', butt_line_m: 'Butt line', face_twist_deg: 'Face twist' } as const;
export const NO_PITCH = 'not seen: the shaft points along the line';
export const NO_GROUND = 'does not meet the ground near the ball';

export const NOTES_TITLE = 'Notes';
export const NOTES_EMPTY = 'Nothing noted for this rep.';
export const NOTE_TEXT = 'Note for this instant';
export const NOTE_KEEP = 'Keep';
export const NOTE_GO = 'Show';
export const NOTE_AWAY = 'Remove';
export function noteLead(author: string, tS: number | null | undefined): string {
  return typeof tS === 'number' ? `${author}, at ${instantWords(tS, '')}:` : `${author}:`;
}
export const MARKED: Readonly<Record<string, string>> = { good: 'marked good', look: 'marked to look at', none: 'mark taken away' };
