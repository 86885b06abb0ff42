/* Made by `npm run types` from shared/api.openapi.json, sha256 03ea4d9680cee900acaec72c07ac5a577b072fc999dc2b9695136e5eb3be5820. Do not edit. */

/**
 * What a drill watches.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Quantity".
 */
export type Quantity =
  | 'bend_change'
  | 'bend'
  | 'shaft_pitch'
  | 'face_twist'
  | 'roll_change'
  | 'arm_length'
  | 'shaft_length'
  | 'backswing_time'
  | 'tempo';
/**
 * How a quantity is written in a drill's file and shown.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Unit".
 */
export type Unit = 'deg' | 's' | 'ratio';
/**
 * How a rep was swung.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Way".
 */
export type Way = 'cued' | 'silent' | 'test' | 'next_day';
/**
 * Where in the swing the golfer is; `fusion/swing/phases.py` holds the table of what follows what.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Phase".
 */
export type Phase =
  'idle' | 'address' | 'takeaway' | 'shaft_level' | 'arm_level' | 'top' | 'downswing' | 'impact' | 'finish';
/**
 * The golfer's lead arm: left for a right-handed player.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Side".
 */
export type Side = 'left' | 'right';
/**
 * Where a sensor is worn. Further places are added here, nowhere else.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Role".
 */
export type Role = 'forearm' | 'club' | 'lead_upper_arm' | 'trail_forearm' | 'pelvis' | 'spare';
/**
 * Why not.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "ProblemCode".
 */
export type ProblemCode =
  | 'bad_request'
  | 'bad_cursor'
  | 'no_such_address'
  | 'no_such_player'
  | 'no_such_practice'
  | 'no_such_rep'
  | 'no_such_note'
  | 'no_such_upload'
  | 'no_trace'
  | 'recording_gone'
  | 'not_worked_out'
  | 'no_pose'
  | 'too_many'
  | 'too_large'
  | 'not_a_recording'
  | 'not_confirmed'
  | 'disk'
  | 'wrong_method'
  | 'viewers_watch'
  | 'not_yours'
  | 'other_origin'
  | 'store'
  | 'bug';
/**
 * How a rep was swung: what was reached with the cue, without it, and in a test are never mixed.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "RepKind".
 */
export type RepKind = 'cued' | 'silent' | 'test' | 'paused';
/**
 * How a rep stood to its drill.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Verdict".
 */
export type Verdict = 'in_band' | 'below' | 'above' | 'unknown';

export interface Api {}
/**
 * Answers, newest first.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "AnswerPage".
 */
export interface AnswerPage {
  /**
   * for `after`, to get what follows; null at the end
   */
  next: string | null;
  items: AnswerView[];
}
/**
 * What a coach answered. Their notes stand among the practice's.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "AnswerView".
 */
export interface AnswerView {
  author: string;
  written_unix_s: number;
  /**
   * the one thing to change
   */
  priority: string;
  drill: PrescribedDrill | null;
}
/**
 * A drill that a coach prescribes.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "PrescribedDrill".
 */
export interface PrescribedDrill {
  name: string;
  aim: string;
  feel: string;
  /**
   * TOML, in the form of shared/drills
   */
  text: string;
  /**
   * the text as a picture to scan; null when it is too long for one
   */
  qr: QrView | null;
}
/**
 * Dark squares as the path of an SVG, one unit a square, within the margin of four that ISO/IEC 18004 asks for.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "QrView".
 */
export interface QrView {
  size: number;
  path: string;
}
/**
 * A rep, and the practice it is of.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "BestRep".
 */
export interface BestRep {
  /**
   * of the practice
   */
  key: string;
  /**
   * calendar date of the practice, ISO 8601
   */
  day: string;
  number: number;
  worst: number;
}
/**
 * A block of a stint, and what became of it.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "BlockView".
 */
export interface BlockView {
  n_reps: number;
  cue: string;
  n_swung: number;
  n_cued: number;
  n_judged: number;
  n_in_band: number;
}
/**
 * What a coach would see of the club; null where it cannot be said.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "ClubSeen".
 */
export interface ClubSeen {
  shaft_pitch_deg: number | null;
  shaft_elevation_deg: number | null;
  butt_line_m: number | null;
  /**
   * since address, + shut, - open
   */
  face_twist_deg: number | null;
}
/**
 * One day in one way of swinging.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "DayView".
 */
export interface DayView {
  /**
   * calendar date, ISO 8601
   */
  day: string;
  sample: SampleView;
}
/**
 * Some reps of one drill in figures.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "SampleView".
 */
export interface SampleView {
  n_reps: number;
  n_judged: number;
  n_in_band: number;
  /**
   * in the band of those judged, 0 to 1
   */
  share: number | null;
  /**
   * Wilson's score interval, 95 %
   */
  share_low: number | null;
  share_high: number | null;
  median: number | null;
  /**
   * null below `enough_reps` judged reps
   */
  low_quartile: number | null;
  high_quartile: number | null;
}
/**
 * Drills in teaching order, then one's own.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "DrillPage".
 */
export interface DrillPage {
  /**
   * for `after`, to get what follows; null at the end
   */
  next: string | null;
  items: DrillView[];
}
/**
 * One drill of the catalogue.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "DrillView".
 */
export interface DrillView {
  id: string;
  name: string;
  aim: string;
  text: string;
  own: boolean;
}
/**
 * One drill; only the ways in which it was swung.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "DrillProgressView".
 */
export interface DrillProgressView {
  drill: DrillRef;
  ways: WayView[];
  retentions: RetentionView[];
}
/**
 * A drill as far as reps can be compared.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "DrillRef".
 */
export interface DrillRef {
  name: string;
  quantity: Quantity;
  unit: Unit;
  low: number;
  high: number;
  /**
   * null for a quantity of the whole swing
   */
  from_mark: string | null;
  to_mark: string | null;
}
/**
 * All days in one way of swinging, in order.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "WayView".
 */
export interface WayView {
  way: Way;
  days: DayView[];
  trend: TrendView;
}
/**
 * How the days' medians move; the slope is null, and what is missing more than 0, where there are not enough reps.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "TrendView".
 */
export interface TrendView {
  /**
   * days with `enough_reps` judged reps
   */
  n_days: number;
  missing_days: number;
  /**
   * at least so many, spread over the missing days
   */
  missing_reps: number;
  per_week: number | null;
  /**
   * 95 % interval
   */
  per_week_low: number | null;
  per_week_high: number | null;
}
/**
 * A test on a later day, beside the last blocks of the day before.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "RetentionView".
 */
export interface RetentionView {
  day: string;
  days_between: number;
  test: SampleView;
  before_day: string;
  cued: SampleView | null;
  silent: SampleView | null;
}
/**
 * A drill to keep.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "DrillText".
 */
export interface DrillText {
  /**
   * TOML, in the form of shared/drills
   */
  text: string;
}
/**
 * What was deleted with a player, and what is left.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Forgotten".
 */
export interface Forgotten {
  n_practices: number;
  n_recordings_deleted: number;
  /**
   * files that stay where they are: `pitchbend store fill` would take them in again
   */
  n_recordings_left: number;
}
/**
 * A recording that was sent, and what has become of it.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Incoming".
 */
export interface Incoming {
  /**
   * SHA-256 of its content: ask by it how far it is
   */
  id: string;
  /**
   * how much of it is worked out
   */
  done: number;
  /**
   * null while it is being worked out; then stored, known (it was there already), matched (its practice was) or refused
   */
  outcome: ('stored' | 'known' | 'matched' | 'refused') | null;
  /**
   * of its practice, once that is in the store
   */
  key: string | null;
  /**
   * why it was refused, a sentence; else empty
   */
  detail: string;
}
/**
 * What is known as a mark of the swing is passed.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "MarkView".
 */
export interface MarkView {
  bend_deg: number | null;
  bend_deg_sd: number | null;
  bend_change_deg: number | null;
  bend_change_deg_sd: number | null;
  hinge_deg: number | null;
  hinge_deg_sd: number | null;
  hinge_change_deg: number | null;
  hinge_change_deg_sd: number | null;
  forearm_roll_deg: number | null;
  forearm_roll_deg_sd: number | null;
  shaft_elevation_deg: number | null;
  shaft_elevation_deg_sd: number | null;
  shaft_pitch_deg: number | null;
  shaft_pitch_deg_sd: number | null;
  face_twist_deg: number | null;
  face_twist_deg_sd: number | null;
  butt_line_m: number | null;
  butt_line_m_sd: number | null;
  /**
   * change of shaft pitch for a change of bend, all else held
   */
  pitch_per_bend: number | null;
  /**
   * change of shaft pitch for a change of forearm roll, all else held
   */
  pitch_per_roll: number | null;
  /**
   * face at a level shaft: 0 with the toe up, + shut, - open
   */
  toe_deg: number | null;
  /**
   * shaft_level, lead_arm_level, top or impact
   */
  name: string;
  /**
   * on the clock of arrival
   */
  at_s: number;
}
/**
 * What a coach says.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "NewAnswer".
 */
export interface NewAnswer {
  author: string;
  priority: string;
  drill_text?: string | null;
  /**
   * @maxItems 200
   */
  notes?: PinnedNote[];
}
/**
 * A remark about one swing, at an instant of it if it says so.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "PinnedNote".
 */
export interface PinnedNote {
  rep: number;
  after_takeaway_s?: number | null;
  text: string;
}
/**
 * A note to write down.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "NewNote".
 */
export interface NewNote {
  text: string;
  /**
   * by default who the page is: the device that joined, or student or coach
   */
  author?: string;
  rep_number?: number | null;
  /**
   * needs rep_number
   */
  after_takeaway_s?: number | null;
}
/**
 * What somebody wrote about a practice or a rep, or how they marked one.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "NoteView".
 */
export interface NoteView {
  number: number;
  at_unix_s: number;
  author: string;
  /**
   * `note` or `mark`
   */
  kind: string;
  text: string;
  rep_number: number | null;
  /**
   * the instant of the rep that it is pinned to
   */
  after_takeaway_s: number | null;
  /**
   * written when the practice was over; what a recording holds stays
   */
  may_remove: boolean;
}
/**
 * Players by name.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "PlayerPage".
 */
export interface PlayerPage {
  /**
   * for `after`, to get what follows; null at the end
   */
  next: string | null;
  items: PlayerView[];
}
/**
 * One player; what was swung with the cue and without it is kept apart.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "PlayerView".
 */
export interface PlayerView {
  /**
   * empty for practices in which nobody gave a name
   */
  name: string;
  n_practices: number;
  n_reps: number;
  cued: ShareView;
  silent: ShareView;
}
/**
 * Reps in the band, of those whose angles could be trusted.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "ShareView".
 */
export interface ShareView {
  n_judged: number;
  n_in_band: number;
}
/**
 * The best rep of a player, or null where none could be judged.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "PlayersBest".
 */
export interface PlayersBest {
  rep: BestRep | null;
}
/**
 * Where the segments would lie; w, x, y, z, as in the trace.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "PosesView".
 */
export interface PosesView {
  /**
   * @minItems 4
   * @maxItems 4
   */
  q_earth_from_forearm: [unknown, unknown, unknown, unknown];
  /**
   * @minItems 4
   * @maxItems 4
   */
  q_earth_from_hand: [unknown, unknown, unknown, unknown];
  /**
   * @minItems 4
   * @maxItems 4
   */
  q_earth_from_club: [unknown, unknown, unknown, unknown];
}
/**
 * Practices, newest first.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "PracticePage".
 */
export interface PracticePage {
  /**
   * for `after`, to get what follows; null at the end
   */
  next: string | null;
  items: PracticeView[];
  /**
   * the player whose practices alone are shown, with those sent from the same device; null: everybody's
   */
  only_of: string | null;
}
/**
 * A practice in short.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "PracticeView".
 */
export interface PracticeView {
  /**
   * the same for a recording and its copies
   */
  key: string;
  player: string;
  /**
   * calendar date, ISO 8601
   */
  day: string;
  /**
   * seconds since 1970
   */
  begun_unix_s: number;
  utc_offset_s: number;
  /**
   * the recording does not say it: that of the computer that took it in, so `day` may be off
   */
  offset_assumed: boolean;
  duration_s: number;
  /**
   * where the data is from, when not from sensors that somebody wore; else empty
   */
  provenance: string;
  lead_side: Side;
  n_reps: number;
  /**
   * of which could be judged; those swung while paused are not counted
   */
  n_judged: number;
  n_in_band: number;
  drills: string[];
  has_recording: boolean;
}
/**
 * A practice with everything but its reps.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "PracticeWhole".
 */
export interface PracticeWhole {
  /**
   * the same for a recording and its copies
   */
  key: string;
  player: string;
  /**
   * calendar date, ISO 8601
   */
  day: string;
  /**
   * seconds since 1970
   */
  begun_unix_s: number;
  utc_offset_s: number;
  /**
   * the recording does not say it: that of the computer that took it in, so `day` may be off
   */
  offset_assumed: boolean;
  duration_s: number;
  /**
   * where the data is from, when not from sensors that somebody wore; else empty
   */
  provenance: string;
  lead_side: Side;
  n_reps: number;
  /**
   * of which could be judged; those swung while paused are not counted
   */
  n_judged: number;
  n_in_band: number;
  drills: string[];
  has_recording: boolean;
  /**
   * which worked it out
   */
  program_version: string;
  stints: StintView[];
  sensors: SensorView[];
  notes: NoteView[];
}
/**
 * A drill as it was gone through, from one choice of it to the next.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "StintView".
 */
export interface StintView {
  number: number;
  begun_unix_s: number;
  /**
   * of the drill
   */
  name: string;
  quantity: string;
  /**
   * of low, high and the reps' worst: deg, s or ratio
   */
  unit: string;
  low: number;
  high: number;
  /**
   * of the swing in which the band counts; empty for a drill that cannot be read
   */
  phases: Phase[];
  blocks: BlockView[];
}
/**
 * A sensor that was worn.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "SensorView".
 */
export interface SensorView {
  role: Role;
  name: string;
  profile: string;
}
/**
 * An answer that is no success.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "ProblemDetails".
 */
export interface ProblemDetails {
  type: string;
  title: string;
  status: number;
  /**
   * a sentence for the person: whose fault it is, and what to do
   */
  detail: string;
  code: ProblemCode;
}
/**
 * A player's progress, the drill practised last in front.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "ProgressView".
 */
export interface ProgressView {
  player: string;
  /**
   * judged reps in one way of swinging make a day count for a trend
   */
  enough_reps: number;
  /**
   * such days make a trend
   */
  enough_days: number;
  drills: DrillProgressView[];
}
/**
 * What a drill's text says.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "ReadDrill".
 */
export interface ReadDrill {
  name: string;
  aim: string;
  feel: string;
  quantity: Quantity;
  unit: Unit;
  low: number;
  high: number;
  /**
   * of all its blocks
   */
  n_reps: number;
  /**
   * the same drill, as Pitchbend writes it
   */
  text: string;
}
/**
 * Reps in the order they were swung: columns of the same length, a place a rep, of what a list of them shows.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "RepColumns".
 */
export interface RepColumns {
  /**
   * for `after`, to get what follows; null at the end
   */
  next: string | null;
  number: number[];
  stint: number[];
  kind: RepKind[];
  verdict: Verdict[];
  /**
   * in the unit of the stint's drill
   */
  worst: (number | null)[];
  backswing_s: number[];
  tempo: (number | null)[];
  quality: string[];
  top_bend_change_deg: (number | null)[];
  lead_arm_level_shaft_pitch_deg: (number | null)[];
}
/**
 * Reps, as they were asked for.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "RepPage".
 */
export interface RepPage {
  /**
   * for `after`, to get what follows; null at the end
   */
  next: string | null;
  items: RepView[];
}
/**
 * A swing. Times on the clock of arrival, as in the JSON of `pitchbend analyse`.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "RepView".
 */
export interface RepView {
  number: number;
  stint: number;
  block: number | null;
  drill: string;
  kind: RepKind;
  verdict: Verdict;
  /**
   * the drill's quantity at its worst moment, in the drill's unit
   */
  worst: number | null;
  /**
   * how long it was outside the band
   */
  out_s: number;
  club: string | null;
  takeaway_s: number;
  finish_s: number | null;
  backswing_s: number;
  downswing_s: number | null;
  /**
   * backswing_s over downswing_s
   */
  tempo: number | null;
  swing_length_arm_deg: number | null;
  swing_length_shaft_deg: number | null;
  /**
   * ok, or why values are absent
   */
  quality: string;
  flags: string[];
  /**
   * those that were passed, in order
   */
  marks: MarkView[];
}
/**
 * Those that are due, the drill practised last in front.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "RetestList".
 */
export interface RetestList {
  items: RetestView[];
}
/**
 * A test of an earlier day's drill that may be swung now.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "RetestView".
 */
export interface RetestView {
  drill: DrillRef;
  /**
   * the drill with nothing but the silent block, as a drill's file has it
   */
  text: string;
  n_reps: number;
  /**
   * 1: due today; more: overdue
   */
  days_since: number;
  before_day: string;
  cued: SampleView | null;
  silent: SampleView | null;
}
/**
 * One swing.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Trace".
 */
export interface Trace {
  /**
   * 0 at the takeaway
   */
  t_s: number[];
  phase: string[];
  /**
   * ok, or why values are absent
   */
  quality: string[];
  bend_deg: (number | null)[];
  bend_deg_sd: (number | null)[];
  bend_change_deg: (number | null)[];
  bend_change_deg_sd: (number | null)[];
  hinge_deg: (number | null)[];
  hinge_deg_sd: (number | null)[];
  hinge_change_deg: (number | null)[];
  hinge_change_deg_sd: (number | null)[];
  forearm_roll_deg: (number | null)[];
  forearm_roll_deg_sd: (number | null)[];
  shaft_elevation_deg: (number | null)[];
  shaft_elevation_deg_sd: (number | null)[];
  shaft_pitch_deg: (number | null)[];
  shaft_pitch_deg_sd: (number | null)[];
  face_twist_deg: (number | null)[];
  face_twist_deg_sd: (number | null)[];
  butt_line_m: (number | null)[];
  butt_line_m_sd: (number | null)[];
  /**
   * w, x, y, z; axes in docs/export.md
   */
  q_earth_from_forearm: ([unknown, unknown, unknown, unknown] | null)[];
  q_earth_from_hand: ([unknown, unknown, unknown, unknown] | null)[];
  q_earth_from_club: ([unknown, unknown, unknown, unknown] | null)[];
  number: number;
  lead_side: Side;
  /**
   * lead shoulder to the middle of the hands
   */
  arm_length_m: number;
  /**
   * nobody gave it: a common one
   */
  arm_length_assumed: boolean;
  club_length_m: number;
  club_length_assumed: boolean;
  /**
   * where the lead shoulder is taken to be, from the ball, in the address's earth: x to the player's right, y outward over the ball, z up
   */
  hub_m: [unknown, unknown, unknown] | null;
  marks: TraceMark[];
}
/**
 * A mark of the swing.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "TraceMark".
 */
export interface TraceMark {
  /**
   * takeaway, shaft_level, lead_arm_level, top, impact or finish
   */
  name: string;
  t_s: number;
}
/**
 * The instant as it was, and as it would have been.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "WhatIf".
 */
export interface WhatIf {
  /**
   * of the instant, exactly as in the trace
   */
  t_s: number;
  unchanged: ClubSeen;
  changed: ClubSeen;
  poses: PosesView1;
}
/**
 * changed
 */
export interface PosesView1 {
  /**
   * @minItems 4
   * @maxItems 4
   */
  q_earth_from_forearm: [unknown, unknown, unknown, unknown];
  /**
   * @minItems 4
   * @maxItems 4
   */
  q_earth_from_hand: [unknown, unknown, unknown, unknown];
  /**
   * @minItems 4
   * @maxItems 4
   */
  q_earth_from_club: [unknown, unknown, unknown, unknown];
}
/**
 * What is to be otherwise; all else is held: the arm's direction, the hinge, the grip.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "Wondered".
 */
export interface Wondered {
  /**
   * 0 at the takeaway, as in the trace; the nearest instant counts
   */
  t_s: number;
  /**
   * + bowed further, - cupped further
   */
  bend_by_deg?: number;
  /**
   * forearm, + in the pronation sense
   */
  roll_by_deg?: number;
}
/**
 * The practice's swings are being worked out from its recording: ask again in a moment.
 *
 * This interface was referenced by `Api`'s JSON-Schema
 * via the `definition` "WorkingOut".
 */
export interface WorkingOut {
  /**
   * how much of it is done
   */
  done: number;
}
