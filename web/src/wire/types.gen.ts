/* Made by `npm run types` from shared/live.schema.json. Do not edit. */

/**
 * Why angles are absent; advice is looked up by this.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Doubt".
 */
export type Doubt =
  'none' | 'not_fitted' | 'no_address' | 'sensor_missing' | 'gap' | 'saturated' | 'out_of_range' | 'foreshortened';
/**
 * What a drill watches.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Quantity".
 */
export type Quantity = 'bend_change' | 'shaft_pitch' | 'face_twist';
/**
 * Where in the swing the golfer is; `fusion/swing/phases.py` holds the table of what follows what.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Phase".
 */
export type Phase =
  'idle' | 'address' | 'takeaway' | 'shaft_level' | 'arm_level' | 'top' | 'downswing' | 'impact' | 'finish';
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
  | 'few_attitudes'
  | 'poor_trim';
/**
 * The golfer's lead arm: left for a right-handed player.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Side".
 */
export type Side = 'left' | 'right';
/**
 * Where a sensor is worn. Further places are added here, nowhere else.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Role".
 */
export type Role = 'forearm' | 'club';
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
  | 'silent'
  | 'connect_failed'
  | 'wrong_device'
  | 'adapter_off'
  | 'no_adapter'
  | 'permission_denied'
  | 'end_of_recording';
/**
 * How a rep stood to its drill.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "Verdict".
 */
export type Verdict = 'in_band' | 'below' | 'above' | 'unknown';
/**
 * What is particular about a rep.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "RepFlag".
 */
export type RepFlag = 'half_swing' | 'no_strike';

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
 * The active drill, in degrees.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "DrillView".
 */
export interface DrillView {
  name: string;
  feel: string;
  quantity: Quantity;
  phases: Phase[];
  low_deg: number;
  high_deg: number;
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
  since_rest_s: number | null;
  bend_change_sd_deg?: number | null;
  shaft_pitch_sd_deg?: number | null;
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
  fit: FitView;
  sensors: SensorView[];
  frame: FrameMessage | null;
  reps: RepMessage[];
  recording: string | null;
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
 * Who swings.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "PlayerView".
 */
export interface PlayerView {
  name: string;
  lead_side: Side;
  club: string;
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
  n_lost: number;
  n_malformed: number;
  battery_pct: number | null;
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
 * Health of all sensors, about twice a second and at each change.
 *
 * This interface was referenced by `Contract`'s JSON-Schema
 * via the `definition` "SensorsMessage".
 */
export interface SensorsMessage {
  type: 'sensors';
  sensors: SensorView[];
}
