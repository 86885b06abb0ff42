/* Made by `npm run types` from shared/live.schema.json. Do not edit. */

/**
 * Which figure is bad.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "HealthTrouble".
 */
export type HealthTrouble =
  | 'loss'
  | 'late'
  | 'rate'
  | 'clock'
  | 'saturated'
  | 'unreadable'
  | 'duplicates'
  | 'drops'
  | 'restarts'
  | 'battery'
  | 'signal';
/**
 * What a person has to know of a battery.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BatteryState".
 */
export type BatteryState = 'unknown' | 'good' | 'low' | 'nearly_empty';
/**
 * Which reps of a block are cued: from its first, every one, every other, every fourth, or none.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "CueShare".
 */
export type CueShare = 'every' | 'half' | 'quarter' | 'none';
/**
 * The golfer's lead arm: left for a right-handed player.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Side".
 */
export type Side = 'left' | 'right';
/**
 * Where in the swing the golfer is; `fusion/swing/phases.py` holds the table of what follows what.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Phase".
 */
export type Phase =
  'idle' | 'address' | 'takeaway' | 'shaft_level' | 'arm_level' | 'top' | 'downswing' | 'impact' | 'finish';
/**
 * How a rep stood to its drill.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Verdict".
 */
export type Verdict = 'in_band' | 'below' | 'above' | 'unknown';
/**
 * What somebody who watches thinks of a rep.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "RepMark".
 */
export type RepMark = 'good' | 'look' | 'none';
/**
 * Where a sensor is worn. Further places are added here, nowhere else.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Role".
 */
export type Role = 'forearm' | 'club' | 'lead_upper_arm' | 'trail_forearm' | 'pelvis' | 'spare';
/**
 * Where the radio link to one sensor stands.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "LinkState".
 */
export type LinkState = 'searching' | 'connecting' | 'streaming' | 'lost' | 'stopped';
/**
 * Why a link is in its state; advice for the person is looked up by this, never by message text.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "LinkReason".
 */
export type LinkReason =
  | 'none'
  | 'not_found'
  | 'dropped'
  | 'out_of_range'
  | 'switched_off'
  | 'battery_empty'
  | 'silent'
  | 'connect_failed'
  | 'in_use'
  | 'wrong_device'
  | 'adapter_off'
  | 'no_adapter'
  | 'service_off'
  | 'permission_denied'
  | 'adapter_stuck'
  | 'no_blink'
  | 'end_of_recording';
/**
 * What the fit finds.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Constant".
 */
export type Constant =
  'forearm_axis' | 'forearm_roll' | 'bend_axis' | 'hinge_axis' | 'shaft' | 'clip_roll' | 'hand_club';
/**
 * Why angles are absent; advice is looked up by this.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Doubt".
 */
export type Doubt =
  | 'none'
  | 'not_fitted'
  | 'no_address'
  | 'sensor_missing'
  | 'gap'
  | 'saturated'
  | 'out_of_range'
  | 'sensor_turned'
  | 'foreshortened';
/**
 * What a drill watches.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
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
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Unit".
 */
export type Unit = 'deg' | 's' | 'ratio';
/**
 * A named pose or motion that the golfer makes on request, so that sensors can be calibrated and fitted to the body.
 *
 * `docs/fit.md` says what each one fixes and what it costs to leave it out.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Move".
 */
export type Move =
  'still' | 'attitude' | 'neutral' | 'bend' | 'hinge' | 'roll' | 'twirl' | 'locked' | 'palm' | 'address';
/**
 * How a fit move went.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "FitState".
 */
export type FitState = 'collecting' | 'taken' | 'rejected';
/**
 * Why a fit move was rejected.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "FitReason".
 */
export type FitReason =
  | 'none'
  | 'moving'
  | 'no_data'
  | 'not_gravity'
  | 'too_little'
  | 'not_one_axis'
  | 'swapped'
  | 'disagrees'
  | 'end_unknown'
  | 'few_attitudes'
  | 'poor_trim'
  | 'unlike_before';
/**
 * What is particular about a rep.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "RepFlag".
 */
export type RepFlag = 'half_swing' | 'no_strike' | 'clip_turned' | 'strap_turned' | 'regripped';
/**
 * A short sound, given once.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SignalKind".
 */
export type SignalKind = 'edge' | 'in_band' | 'below' | 'above';

export interface Contract {}
/**
 * The client has handled frame `seq`; sent about four times a second. A client too far behind gets fewer frames.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "AckMessage".
 */
export interface AckMessage {
  type: 'ack';
  seq: number;
}
/**
 * One figure is bad.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "AdviceView".
 */
export interface AdviceView {
  trouble: HealthTrouble;
  text: string;
}
/**
 * The drill in force, with another band: in the drill's own unit.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BandMessage".
 */
export interface BandMessage {
  type: 'band';
  low: number;
  high: number;
}
/**
 * Which of the practices of a service this is.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BayRef".
 */
export interface BayRef {
  id: string;
  name: string;
}
/**
 * A sensor is to show itself.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BlinkMessage".
 */
export interface BlinkMessage {
  type: 'blink';
  sensor: string;
}
/**
 * A block as a drill's file has it.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BlockForm".
 */
export interface BlockForm {
  reps: number;
  cue: CueShare;
}
/**
 * One block of a drill, and what became of it.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BlockView".
 */
export interface BlockView {
  reps: number;
  cue: CueShare;
  swung: number;
  judged: number;
  in_band: number;
}
/**
 * One practice.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BoardBay".
 */
export interface BoardBay {
  id: string;
  name: string;
  player: PlayerView | null;
  status: 'waiting' | 'live' | 'stale' | 'ended' | 'away';
  phase: Phase | null;
  bend_change_deg: number | null;
  shaft_pitch_deg: number | null;
  sounding: boolean;
  drill: string;
  course: BoardCourse | null;
  n_reps: number;
  n_judged: number;
  n_in_band: number;
  last_rep: BoardRep | null;
  control: 'student' | 'coach';
  problem: string | null;
}
/**
 * Who swings.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "PlayerView".
 */
export interface PlayerView {
  name: string;
  lead_side: Side;
  club: string;
  club_length_m?: number | null;
  arm_length_m?: number | null;
}
/**
 * Where a player stands in the blocks of a drill.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BoardCourse".
 */
export interface BoardCourse {
  block: number | null;
  n_blocks: number;
  rep: number;
  reps: number;
  testing: boolean;
}
/**
 * The last rep of a player.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BoardRep".
 */
export interface BoardRep {
  index: number;
  verdict: Verdict;
  worst_deg: number | null;
  mark: RepMark;
}
/**
 * All practices, at most five times a second and only when something has changed; newest wins.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "BoardMessage".
 */
export interface BoardMessage {
  type: 'board';
  bays: BoardBay[];
}
/**
 * A sensor in reach, while places are being given out.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "CandidateView".
 */
export interface CandidateView {
  sensor: string;
  name: string;
  role: Role;
  state: LinkState;
  reason: LinkReason;
  advice: string;
  activity: number;
  moving: boolean;
  battery_pct: number | null;
}
/**
 * The player or the coach chooses a drill; the one in force begins anew.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ChooseDrillMessage".
 */
export interface ChooseDrillMessage {
  type: 'drill';
  id: string;
}
/**
 * Somebody wants to give out places (`open`), or has done so and begins the practice.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ChooseMessage".
 */
export interface ChooseMessage {
  type: 'choose';
  open: boolean;
}
/**
 * Which sensors are in reach and which one moves, about ten times a second while places are being given out.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ChoosingMessage".
 */
export interface ChoosingMessage {
  type: 'choosing';
  choosing: ChoosingView;
}
/**
 * A person gives out the places, or does not (`open`).
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ChoosingView".
 */
export interface ChoosingView {
  open: boolean;
  wanted: Role | null;
  instruction: string;
  trouble: LinkReason;
  complete: boolean;
  places: Role[];
  sensors: CandidateView[];
  waiting?: boolean;
  elsewhere?: string[];
}
/**
 * How the sensor's clock stands to the practice's.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ClockView".
 */
export interface ClockView {
  offset_s: number;
  drift_ppm: number | null;
  spread_ms: number;
  span_s: number;
  age_s: number;
}
/**
 * The player swings another club from now on, in their own words.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ClubMessage".
 */
export interface ClubMessage {
  type: 'club';
  club: string;
}
/**
 * How well the fit knows one thing.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ConstantView".
 */
export interface ConstantView {
  constant: Constant;
  sd_deg: number;
}
/**
 * Coach or student takes the control (`hold`), or gives it to the other.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ControlAskMessage".
 */
export interface ControlAskMessage {
  type: 'control';
  hold: boolean;
}
/**
 * Who holds the control from now on; told to every page of the practice.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ControlMessage".
 */
export interface ControlMessage {
  type: 'control';
  holder: 'student' | 'coach';
  reason?: 'start' | 'asked' | 'taken_back' | 'coach_gone';
  by?: string;
}
/**
 * Where the player stands in a drill's blocks.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "CourseView".
 */
export interface CourseView {
  blocks: BlockView[];
  block: number | null;
  cued: boolean;
  testing: boolean;
}
/**
 * The cue starts or stops; never skipped.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "CueMessage".
 */
export interface CueMessage {
  type: 'cue';
  t_s: number;
  sounding: boolean;
  error_deg: number;
}
/**
 * A drill that can be chosen.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "DrillChoice".
 */
export interface DrillChoice {
  id: string;
  name: string;
  aim: string;
  own?: boolean;
}
/**
 * A drill key by key, as its file has it, for editing. Answers `edit_drill`.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "DrillFormMessage".
 */
export interface DrillFormMessage {
  type: 'drill_form';
  id: string;
  name: string;
  aim: string;
  feel: string;
  quantity: Quantity;
  from_mark: string | null;
  to_mark: string | null;
  low: number;
  high: number;
  hysteresis: number | null;
  warn: number | null;
  blocks: BlockForm[];
  quantities: QuantityForm[];
  marks: string[];
}
/**
 * A quantity as a drill's file names it, and what a drill on it may say.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "QuantityForm".
 */
export interface QuantityForm {
  quantity: Quantity;
  name: string;
  counted_from: string | null;
  unit: Unit;
  suffix: string;
  at_end: boolean;
  least_band: number;
}
/**
 * Another drill is in force, or the player is a rep further in it.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "DrillMessage".
 */
export interface DrillMessage {
  type: 'drill';
  drill: DrillView;
  course: CourseView | null;
  second?: DrillView | null;
  look_ahead_ms?: number;
  paused?: boolean;
}
/**
 * A drill in force.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "DrillView".
 */
export interface DrillView {
  name: string;
  feel: string;
  quantity: Quantity;
  phases: Phase[];
  low_deg: number | null;
  high_deg: number | null;
  unit: Unit;
  low: number;
  high: number;
  least_band?: number;
  warn?: number | null;
  aim?: string;
}
/**
 * A drill that stands in no file is to be in force.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "DrillTextMessage".
 */
export interface DrillTextMessage {
  type: 'drill_text';
  text: string;
}
/**
 * There is another drill to choose from.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "DrillsMessage".
 */
export interface DrillsMessage {
  type: 'drills';
  drills: DrillChoice[];
  saved?: string;
}
/**
 * The link was lost.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "DropView".
 */
export interface DropView {
  at_s: number;
  reason: LinkReason;
  back_s: number | null;
}
/**
 * Asks for a drill key by key; null: the one in force.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "EditDrillMessage".
 */
export interface EditDrillMessage {
  type: 'edit_drill';
  id: string | null;
}
/**
 * The source has nothing more to give (a recording ended; a demo starts again by itself).
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "EndMessage".
 */
export interface EndMessage {
  type: 'end';
  again: boolean;
}
/**
 * News of a fit move.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "FitMessage".
 */
export interface FitMessage {
  type: 'fit';
  move: Move;
  state: FitState;
  reason: FitReason;
  measured: number | null;
  limit: number | null;
  advice: string;
  fit: FitView;
}
/**
 * Which fit moves are in, and whether angles can be computed.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "FitView".
 */
export interface FitView {
  complete: boolean;
  taken: Move[];
  known?: boolean;
  due?: Move[];
  constants?: ConstantView[];
  notes?: string[];
}
/**
 * The newest instant: newest wins, some may be skipped.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "FrameMessage".
 */
export interface FrameMessage {
  type: 'frame';
  seq: number;
  t_s: number;
  phase: Phase;
  bend_change_deg: number | null;
  bend_deg: number | null;
  hinge_change_deg: number | null;
  roll_change_deg: number | null;
  shaft_elevation_deg: number | null;
  shaft_pitch_deg: number | null;
  arm_elevation_deg: number | null;
  face_twist_deg: number | null;
  doubt: Doubt;
  pitch_doubt: Doubt;
  advice: string;
  sounding: boolean;
  error_deg: number;
  cue_error_deg?: number | null;
  since_rest_s: number | null;
  bend_change_sd_deg?: number | null;
  shaft_pitch_sd_deg?: number | null;
  standing?: StandingView | null;
}
/**
 * How both sensors lie while the golfer is led through the fit: whether a move is taken up.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "StandingView".
 */
export interface StandingView {
  forearm_still_s: number;
  club_still_s: number;
  lies: boolean;
  arm_deg: number | null;
  shaft_deg: number | null;
}
/**
 * All that is known of how a sensor fares.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "HealthView".
 */
export interface HealthView {
  nominal_rate_hz: number | null;
  device_rate_hz: number | null;
  recent: LossView;
  overall: LossView;
  n_duplicates: number;
  n_restarts: number;
  saturated_s: number;
  jitter: JitterView | null;
  clock: ClockView | null;
  battery_pct_per_hour: number | null;
  battery_hours_left: number | null;
  rssi_dbm: number | null;
  rssi_age_s: number | null;
  n_drops: number;
  drops: DropView[];
  worst: StretchView[];
  advice: AdviceView[];
}
/**
 * What came and what did not.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "LossView".
 */
export interface LossView {
  n_samples: number;
  n_lost: number | null;
  n_packets: number;
  n_packets_lost: number | null;
  lost_pct: number | null;
}
/**
 * By how much half, 95 and 99 of 100 packets were late at most, against the least delayed ones.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "JitterView".
 */
export interface JitterView {
  p50_ms: number;
  p95_ms: number;
  p99_ms: number;
}
/**
 * A stretch in which samples were lost or none came.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "StretchView".
 */
export interface StretchView {
  start_s: number;
  end_s: number;
  n_lost: number;
  longest_wait_s: number;
}
/**
 * First message to each client: the whole present state, so that a late joiner lacks nothing.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "HelloMessage".
 */
export interface HelloMessage {
  type: 'hello';
  protocol: number;
  version: string;
  source: SourceView;
  player: PlayerView | null;
  drill: DrillView;
  course?: CourseView | null;
  second?: DrillView | null;
  drills?: DrillChoice[];
  look_ahead_ms?: number;
  paused?: boolean;
  fit: FitView;
  sensors: SensorView[];
  frame: FrameMessage | null;
  reps: RepMessage[];
  recording: string | null;
  choosing?: ChoosingView | null;
  bay?: BayRef | null;
  control?: 'student' | 'coach';
  marks?: RepMarkMessage[];
  notes?: NoteMessage[];
  said?: SaidMessage[];
  replay?: ReplayView | null;
}
/**
 * Where the data comes from.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SourceView".
 */
export interface SourceView {
  kind: 'demo' | 'live' | 'replay' | 'virtual';
  name: string;
  speed: number;
}
/**
 * One sensor's health.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SensorView".
 */
export interface SensorView {
  sensor: string;
  role: Role;
  name: string;
  state: LinkState;
  reason: LinkReason;
  advice: string;
  rate_hz: number;
  n_samples: number;
  n_lost: number | null;
  n_malformed: number;
  battery_pct: number | null;
  battery?: BatteryState;
  battery_advice?: string;
  trim_due?: string;
  health?: HealthView | null;
}
/**
 * A swing was completed.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "RepMessage".
 */
export interface RepMessage {
  type: 'rep';
  index: number;
  t_s: number;
  verdict: Verdict;
  worst_deg: number | null;
  out_s: number;
  backswing_s: number;
  downswing_s: number | null;
  shaft_level: MarkView | null;
  arm_level: MarkView | null;
  top: MarkView | null;
  doubt: Doubt;
  advice: string;
  tempo?: number | null;
  flags?: RepFlag[];
  cued?: boolean;
  testing?: boolean;
  drill?: string;
  quantity?: Quantity;
  worst?: number | null;
  second?: JudgedView | null;
  arm_length_deg?: number | null;
  shaft_length_deg?: number | null;
  paused?: boolean;
}
/**
 * The angles as a mark of the swing was passed.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "MarkView".
 */
export interface MarkView {
  bend_change_deg: number | null;
  hinge_change_deg: number | null;
  shaft_pitch_deg: number | null;
  face_twist_deg: number | null;
  pitch_per_bend?: number | null;
  bend_deg?: number | null;
  roll_change_deg?: number | null;
  butt_line_m?: number | null;
  butt_line_sd_m?: number | null;
}
/**
 * How a rep stood to a drill that is watched beside the one in force.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "JudgedView".
 */
export interface JudgedView {
  drill: string;
  quantity: Quantity;
  unit: Unit;
  verdict: Verdict;
  worst: number | null;
}
/**
 * A rep was marked; `none` takes its mark away.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "RepMarkMessage".
 */
export interface RepMarkMessage {
  type: 'rep_mark';
  rep: number;
  mark: RepMark;
  by?: string;
}
/**
 * Something was noted.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "NoteMessage".
 */
export interface NoteMessage {
  type: 'note';
  id: number;
  t_s: number;
  text: string;
  rep: number | null;
  by?: string;
}
/**
 * Something was said to the one who swings.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SaidMessage".
 */
export interface SaidMessage {
  type: 'said';
  id: number;
  t_s: number;
  text: string;
  by?: string;
}
/**
 * How a recording is being played. All times count from its first event, as `t_s` does everywhere.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplayView".
 */
export interface ReplayView {
  playing: boolean;
  speed: number;
  at_s: number;
  seeking?: boolean;
  loop?: number | null;
}
/**
 * How long the club and the lead arm are; null: not known.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "LengthsMessage".
 */
export interface LengthsMessage {
  type: 'lengths';
  club_length_m: number | null;
  arm_length_m: number | null;
}
/**
 * The cue is to begin so much early.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "LookAheadMessage".
 */
export interface LookAheadMessage {
  type: 'look_ahead';
  ms: number;
}
/**
 * Somebody marks a rep; `none` takes the mark away.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "MarkRepMessage".
 */
export interface MarkRepMessage {
  type: 'mark_rep';
  rep: number;
  mark: RepMark;
}
/**
 * The golfer begins a fit move.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "MoveMessage".
 */
export interface MoveMessage {
  type: 'move';
  move: Move;
}
/**
 * The player pauses (`on`), or goes on.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "PauseMessage".
 */
export interface PauseMessage {
  type: 'pause';
  on: boolean;
}
/**
 * A phase of the swing began.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "PhaseMessage".
 */
export interface PhaseMessage {
  type: 'phase';
  t_s: number;
  phase: Phase;
}
/**
 * Asks for a pong: clock sync and keep-alive.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "PingMessage".
 */
export interface PingMessage {
  type: 'ping';
  token: number;
}
/**
 * A sensor is worn there from now on; `spare` takes its place from it.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "PlaceMessage".
 */
export interface PlaceMessage {
  type: 'place';
  sensor: string;
  role: Role;
}
/**
 * Answer to a ping, same token.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "PongMessage".
 */
export interface PongMessage {
  type: 'pong';
  token: number;
}
/**
 * Something the person should know, in plain words.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ProblemMessage".
 */
export interface ProblemMessage {
  type: 'problem';
  code: string;
  text: string;
}
/**
 * Play one rep over and over; null: go on after it.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplayLoopMessage".
 */
export interface ReplayLoopMessage {
  type: 'replay_loop';
  rep: number | null;
}
/**
 * How the playing of the recording stands: at each change, and twice a second while it plays.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplayMessage".
 */
export interface ReplayMessage {
  type: 'replay';
  replay: ReplayView;
}
/**
 * Play on, or stop (`playing` false) and stay where it is. At the end: from the beginning.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplayPlayMessage".
 */
export interface ReplayPlayMessage {
  type: 'replay_play';
  playing: boolean;
}
/**
 * Go to the beginning of the next rep, or of this one or the one before.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplayRepMessage".
 */
export interface ReplayRepMessage {
  type: 'replay_rep';
  to: 'next' | 'previous';
}
/**
 * Go to this time.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplaySeekMessage".
 */
export interface ReplaySeekMessage {
  type: 'replay_seek';
  to_s: number;
}
/**
 * Go so much further, or back, and stop there.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplaySkipMessage".
 */
export interface ReplaySkipMessage {
  type: 'replay_skip';
  by_s: number;
}
/**
 * Play at this speed from now on; 0: as fast as can be.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplaySpeedMessage".
 */
export interface ReplaySpeedMessage {
  type: 'replay_speed';
  speed: number;
}
/**
 * Go so many packets further, or back, and stop there; those that bring no new frame do not count.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplayStepMessage".
 */
export interface ReplayStepMessage {
  type: 'replay_step';
  packets: number;
}
/**
 * What is in the recording and where: after the hello, and anew as the first reading gets on.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "ReplayTimelineMessage".
 */
export interface ReplayTimelineMessage {
  type: 'replay_timeline';
  reps: TimelineRep[];
  remarks: TimelineRemark[];
  known_s: number;
  progress: number;
  duration_s: number | null;
  trouble?: string;
}
/**
 * A rep on the timeline, as the recording has it.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "TimelineRep".
 */
export interface TimelineRep {
  index: number;
  from_s: number;
  takeaway_s: number;
  top_s: number;
  to_s: number;
  verdict: Verdict;
  cued: boolean;
}
/**
 * A mark, a note or a message to the player, where it was made.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "TimelineRemark".
 */
export interface TimelineRemark {
  kind: 'mark' | 'note' | 'said';
  t_s: number;
  text: string;
  mark?: RepMark;
  rep?: number | null;
  by?: string;
}
/**
 * A drill is to be kept among one's own.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SaveDrillMessage".
 */
export interface SaveDrillMessage {
  type: 'save_drill';
  text: string;
  id: string;
}
/**
 * The coach says something to the student's page.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SayMessage".
 */
export interface SayMessage {
  type: 'say';
  text: string;
}
/**
 * Another drill is to be judged beside the one in force; null: none any more.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SecondMessage".
 */
export interface SecondMessage {
  type: 'second';
  id: string | null;
}
/**
 * Health of all sensors, about twice a second and at each change.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SensorsMessage".
 */
export interface SensorsMessage {
  type: 'sensors';
  sensors: SensorView[];
  tape?: TapeView | null;
}
/**
 * How the recording fares.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "TapeView".
 */
export interface TapeView {
  path: string | null;
  n_files: number;
  size_mb: number;
  held_s: number;
  n_missed: number;
  minutes_left: number | null;
}
/**
 * A short sound, once; never skipped.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SignalMessage".
 */
export interface SignalMessage {
  type: 'signal';
  t_s: number;
  kind: SignalKind;
}
/**
 * Forearm and club sensor change places.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SwapMessage".
 */
export interface SwapMessage {
  type: 'swap';
}
/**
 * Where a phase of the last rep began.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "TrialMark".
 */
export interface TrialMark {
  t_s: number;
  phase: Phase;
}
/**
 * The quantity at an instant of the last rep.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "TrialPoint".
 */
export interface TrialPoint {
  t_s: number;
  value: number | null;
}
/**
 * A short sound that would have been given.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "TrialSignal".
 */
export interface TrialSignal {
  t_s: number;
  kind: SignalKind;
}
/**
 * A stretch in which the cue would have sounded.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "TrialSpan".
 */
export interface TrialSpan {
  from_s: number;
  to_s: number;
  error: number;
}
/**
 * What a drill, tried on the last rep, would have made of it. Answers `try_drill`.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "TriedMessage".
 */
export interface TriedMessage {
  type: 'tried';
  problem?: string;
  key?: string;
  line?: number | null;
  verdict?: Verdict | null;
  worst?: number | null;
  spans?: TrialSpan[];
  signals?: TrialSignal[];
  points?: TrialPoint[];
  marks?: TrialMark[];
}
/**
 * Asks what a drill would have made of the last rep.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "TryDrillMessage".
 */
export interface TryDrillMessage {
  type: 'try_drill';
  text: string;
}
/**
 * Somebody notes something, of a rep or of the practice.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "WriteNoteMessage".
 */
export interface WriteNoteMessage {
  type: 'note';
  text: string;
  rep: number | null;
}
