/** The player's words for what the wire calls by its anatomical or technical name. No other file holds them. */
import { amountWords, excessWords, isOfWholeSwing, numberOf, unitOf, type EndQuantity } from './drills/amount';
import type { SoundState } from './audio/engine.svelte';
import type { Status } from './state/live.svelte';
import type { AddressFault, Step } from './state/setup';
import type { WakeState } from './state/wake.svelte';
import type { BlockView, Constant, ControlMessage, CourseView, CueShare, DrillView, FrameMessage, JudgedView, LinkReason, LinkState, Move, Phase, Quantity, RepFlag, Role, Side, TriedMessage } from './wire/types.gen';

type ControlReason = NonNullable<ControlMessage['reason']>;

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

/** Whole degrees with a true minus sign; the plus only where the sign carries meaning. */
export function signed(deg: number, withPlus = true): string {
  const whole = Math.round(deg);
  return `${whole < 0 ? '−' : whole > 0 && withPlus ? '+' : ''}${Math.abs(whole)}°`;
}

export const NO_VALUE = '–';

/** One standard deviation, never said smaller than it is. */
export function spreadWords(sdDeg: number | null | undefined): string {
  return typeof sdDeg === 'number' ? `± ${Math.max(1, Math.ceil(sdDeg))}°` : '';
}
export const SPREAD_LABEL = 'one standard deviation:';
export const SPREAD_WORDS = '± beside a figure is one standard deviation, rounded up: the true value is that near about two times in three.';

/** What one degree more bow would have done to the shaft, all else held. */
export function sensitivityWords(pitchPerBend: number): string {
  const tenths = Math.abs(Math.round(pitchPerBend * 10));
  if (tenths === 0) return '1° more bow: shaft as steep as before';
  return `1° more bow: shaft ${(tenths / 10).toFixed(1)}° ${pitchPerBend < 0 ? 'flatter' : 'steeper'}`;
}

export const FLAG_WORDS: Readonly<Record<RepFlag, string>> = {
  half_swing: 'Half swing: the lead arm did not come to level.',
  no_strike: 'No strike was felt.',
  clip_turned: 'The club’s sensor has turned since the fit: bend and hinge are less sure.',
  strap_turned: 'The forearm sensor has turned since the fit: bend and hinge are less sure.'
};

export const ROLE_WORDS: Readonly<Record<Role, string>> = {
  forearm: 'Forearm',
  club: 'Club',
  lead_upper_arm: 'Lead upper arm',
  trail_forearm: 'Trail forearm',
  pelvis: 'Pelvis',
  spare: 'Not worn'
};
/** The places that the angles are computed from. */
export const PAIR: readonly Role[] = ['forearm', 'club'];

export const LEAD_WORDS: Readonly<Record<Side, string>> = { left: 'lead arm left', right: 'lead arm right' };

export function linkWords(state: LinkState, reason: LinkReason): string {
  if (state === 'streaming') return reason === 'silent' ? 'silent' : 'sending';
  return { searching: 'searching', connecting: 'connecting', lost: 'link lost', stopped: reason === 'end_of_recording' ? 'recording over' : 'stopped' }[state];
}

export const STATUS_WORDS: Readonly<Record<Status, string>> = {
  connecting: 'Connecting',
  lost: 'Server gone',
  sent_away: 'You are out',
  refused: 'Not let in',
  waiting: 'Waiting',
  live: 'Live',
  stale: 'No fresh data',
  ended: 'Ended'
};

/** What the trouble is, whose it is, and what to do. Empty while all is well. */
export const STATUS_ADVICE: Readonly<Record<Status, string>> = {
  connecting: 'Connecting to Pitchbend on your computer.',
  lost: 'Pitchbend on your computer does not answer. Check that it is still running and that this device is on the same network; the page comes back by itself.',
  refused: 'This address opens no practice to this device.',
  sent_away: 'Somebody who runs this practice has ended your visit. To come back, ask them for a new link or picture to scan.',
  waiting: 'Connected. Waiting for the first reading from the sensors.',
  live: '',
  stale: 'No reading for over a second, so nothing is shown or sounded. Check both sensors.',
  ended: 'The recording has ended.'
};

export function lookAheadWords(ms: number): string {
  return ms === 0
    ? 'The cue begins when the band is left, and is heard that much later.'
    : `The cue begins ${ms} ms early, on the way out of the band. Some cues will be false: the way was not followed to its end.`;
}

export const DRILLS_TITLE = 'Drills';
export const TEST_TITLE = 'Test';
export const TEST_FEEL = 'No cue and no figures. Swing as you have learnt it; the result comes at the end.';
export const COURSE_OVER = 'All blocks done. Rest, then test again tomorrow; or tap the drill below to begin anew.';

/** How often a block's reps are cued. */
export const CUE_SHARE: Readonly<Record<CueShare, string>> = {
  every: 'cue on every rep',
  half: 'cue on every other rep',
  quarter: 'cue on one rep in four',
  none: 'test, no cue'
};

/** Where the player stands in the drill. */
export function courseWords(course: CourseView): string {
  const block = course.block === null ? undefined : course.blocks[course.block];
  if (course.block === null || !block) return COURSE_OVER;
  const next = block.cue === 'every' || block.cue === 'none' ? '' : course.cued ? ' This one is cued.' : ' This one is silent.';
  return `Block ${course.block + 1} of ${course.blocks.length}, rep ${block.swung + 1} of ${block.reps}: ${CUE_SHARE[block.cue]}.${next}`;
}

/** A test under way keeps its result to itself. */
export function blockResult(block: BlockView): string {
  if (!block.swung) return `${block.reps} reps`;
  if (block.swung < block.reps) return block.cue === 'none' ? `${block.swung} of ${block.reps}` : `${block.in_band} of ${block.judged} in the band`;
  return `${block.in_band} of ${block.judged} in the band`;
}
export const CHOOSING_TITLE = 'Which sensor is where?';
export const ELSEWHERE = 'Elsewhere…';
export const CHOOSE_NOW = 'Choose mine now';
export const BLINK = 'Blink';
export const START = 'Start with these';
export const NOT_READY = 'Give forearm and club a sensor first';
export const OTHER_SENSORS = 'Other sensors';
export const SWAP = 'Exchange forearm and club';

export const FIT_TITLE = 'Fit the sensors to you';
export const FIT_FEEL = 'Seven moves, about a minute. Tap, make the move, and be still until it says so.';

export interface FitStep {
  readonly move: Move;
  readonly title: string;
  readonly how: string;
  readonly held: boolean;
}

export const FIT_ORDER: readonly FitStep[] = [
  { move: 'still', title: 'Lay both down', how: 'Put both sensors on the ground or a table and do not touch them.', held: true },
  { move: 'neutral', title: 'Wrist straight', how: 'Strap them on: one on the back of the lead forearm just above the wrist, one on the grip below the hands. Club in hand, let the lead arm hang a little forward, wrist straight.', held: true },
  { move: 'roll', title: 'Roll the forearm', how: 'Hold the wrist and roll the lead forearm three times to and fro, as if turning a key.', held: false },
  { move: 'twirl', title: 'Twirl the club', how: 'Keep the arm quiet and spin the club in your fingers three times to and fro.', held: false },
  { move: 'locked', title: 'Wrist locked', how: 'Take your grip, lock the wrist and swing the whole arm three times to and fro, half-way round your body.', held: false },
  { move: 'palm', title: 'Palm flat', how: 'Lay the club aside and put the lead palm flat on a table or your thigh.', held: true },
  { move: 'address', title: 'Address', how: 'Take your grip and stand to the ball as for a shot.', held: true }
];

export const FIT_QUALITY_TITLE = 'How well the fit knows each thing';
export const CONSTANT_WORDS: Readonly<Record<Constant, string>> = {
  forearm_axis: 'Forearm’s long axis',
  forearm_roll: 'Forearm sensor’s roll about the arm',
  bend_axis: 'Wrist’s bend axis',
  hinge_axis: 'Wrist’s hinge axis',
  shaft: 'Shaft',
  clip_roll: 'Clip’s roll against the face at address',
  hand_club: 'Hand on the club'
};

/** Tenths: a fit is known to about a degree. */
export function withinWords(sdDeg: number): string {
  return `± ${sdDeg.toFixed(1)}°`;
}

export const FIT_MORE_TITLE = 'More accuracy (optional)';
export const FIT_MORE: readonly FitStep[] = [
  { move: 'attitude', title: 'Sensors on each side', how: 'Hold both still on six or more different sides, one tap each. Once for new sensors is enough.', held: true },
  { move: 'bend', title: 'Bow and cup', how: 'Club in hand, bow and cup the lead wrist three times to and fro, as far as is comfortable.', held: false },
  { move: 'hinge', title: 'Hinge', how: 'Club in hand, hinge the lead wrist three times to and fro: up toward the thumb, down toward the little finger.', held: false }
];

/** The moves still worth making once the fit is good enough to swing; empty when all are in. */
export function betterWith(taken: readonly Move[]): string {
  const missing = FIT_ORDER.filter((step) => !taken.includes(step.move)).map((step) => step.title.toLowerCase());
  return missing.length ? `The fit gets better with: ${missing.join(', ')}.` : '';
}

export const HEALTH_TITLE = 'How the sensors send';
export const HEALTH_INTRO = 'Figures of this moment, renewed twice a second. A diamond marks what needs you; what to do stands above the figures.';
export const HEALTH_EMPTY = 'No sensor has reported yet. Switch both on and bring them near; their figures appear here.';

export type HealthFigure = 'rate' | 'loss' | 'late' | 'clock' | 'battery' | 'signal' | 'saturated' | 'odd' | 'drops';

/** The figures of a sensor, and what each means to a player. */
export const HEALTH_WORDS: Readonly<Record<HealthFigure, { readonly label: string; readonly meaning: string }>> = {
  rate: { label: 'Samples a second', meaning: 'How often the sensor tells its motion. Near what it is made for is well.' },
  loss: { label: 'Lost of late', meaning: 'What the radio lost. Up to 2 % does little harm; a swing with a hole in it is not judged.' },
  late: { label: 'Late, 95 of 100', meaning: 'How long packets lie on the way, and the sound with them. Below 60 ms is well.' },
  clock: { label: 'Clock fit', meaning: 'How closely its time is known against the other sensor’s. Below 10 ms is well.' },
  battery: { label: 'Battery', meaning: 'Charge below 15 %.' },
  signal: { label: 'Signal', meaning: 'Nearer to 0 is stronger: −50 is close by, below −85 it is about to be lost.' },
  saturated: { label: 'Too fast to measure', meaning: 'Time in which the motion outran the sensor.' },
  odd: { label: 'Twice or unreadable', meaning: 'Packets that came again or made no sense. They are left out.' },
  drops: { label: 'Links lost', meaning: 'How often the radio link broke. It is made anew by itself.' }
};

export function reasonWords(reason: LinkReason): string {
  return reason === 'none' ? 'lost' : reason.replaceAll('_', ' ');
}

export const CAUTIONS: readonly string[] = [
  'Practice aid, not medical advice.',
  'Check that nobody, children above all, can walk into your swing, practice swings included.',
  'Fix both sensors firmly: one that comes loose flies.',
  'Stop if your wrist or palm hurts; pain on the little-finger side of the palm after hitting a mat or root needs a doctor, and so does wrist pain that lasts over a week.',
  'Keep the volume low enough to hear others; with earphones leave one ear free.',
  'Build up repetitions slowly and take breaks.'
];

// The golfer's own page, read from the ball.
export const BEND_PICTURE = 'The lead hand on the forearm, seen from the thumb side: cupped to one side, bowed to the other';
export const PITCH_PICTURE = 'The shaft leaning over the ball line, seen from behind the hands, with the shaft at address dotted and the last rep in grey';
export const RECENT_REPS = 'The latest reps';
export const STRIP_WORDS = 'Marks of the reps: circle in the band, triangle down below it, triangle up above it, dash not judged; thick with the cue, thin without.';
export function repTitle(index: number): string {
  return `Rep ${index}, worst`;
}
export function repWords(index: number, verdict: string, cued: boolean): string {
  return `Rep ${index}${cued ? '' : ', without the cue'}: ${verdict}`;
}
export const STAND_VIEW = 'Large figures';
export const WHOLE_PAGE = 'Whole page';
export const PAUSE = 'Pause';
export const GO_ON = 'Go on';
export const PAUSED_TITLE = 'PAUSED';
export const PAUSED_MEANS = 'Nothing sounds. Swings count for no block.';
/** Where the player stands, short enough for a glance. */
export function courseShort(course: CourseView): string {
  const block = course.block === null ? undefined : course.blocks[course.block];
  if (course.block === null || !block) return COURSE_OVER;
  return `Block ${course.block + 1} of ${course.blocks.length}, rep ${block.swung + 1} of ${block.reps}${course.cued ? '' : ', silent'}`;
}

export const SOUND_WORDS: Readonly<Record<SoundState, string>> = {
  off: 'Sound off — tap to hear the cue',
  on: 'Sound on',
  sounding: 'Sounding',
  stopped: 'Sound stopped by this device — tap',
  failed: 'This browser gives no sound — tap to try again'
};
export const SOUND_PAUSED = 'Paused: silent';
export const RING_SWITCH = 'On an iPhone the ring switch may silence pages: set it to ring. Turn up the media volume, not the ringing tone.';
export const WHEN_LOCKED = 'A locked screen or another app may stop the sound. The page fetches it back when it is seen again and says how long it was away.';
export function awayWords(seconds: number): string {
  return `The page was out of sight for ${Math.round(seconds)} s. Cues of that time may not have been heard.`;
}
export const SCREEN_TITLE = 'Screen';
/** What the golfer has to know about the screen; empty while the page keeps it on, or need not. */
export const WAKE_WORDS: Readonly<Record<WakeState, string>> = {
  off: '',
  on: '',
  not_secure: 'This page may not keep the screen on, for its address begins with http. Set the phone’s own screen time to its longest.',
  no_way: 'This browser cannot keep the screen on. Set the phone’s own screen time to its longest.',
  refused: 'The phone does not let the page keep the screen on, perhaps to save its battery. Set its own screen time to its longest.'
};
export const WAKE_ON = 'The page keeps the screen on.';
export const WAKE_OFF = 'The screen is kept on while the sound is on or the large figures are shown.';

// The set-up on a phone.
export const FIT_STEPS = Object.fromEntries([...FIT_ORDER, ...FIT_MORE].map((step) => [step.move, step])) as Readonly<Record<Move, FitStep>>;
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
export const FIT_LATER = 'Six moves, less than a minute. Tap once and step back.';
export const GUIDE_TONES = 'Two short notes: move. One long note: hold still. Three quick notes rising: taken. Two long notes falling: once more.';
export const GUIDE_SPEAKS = 'Speak the moves';
export const GUIDE_WORDS: Readonly<Record<'hold' | 'watch', string>> = { hold: 'Hold still', watch: 'Move' };
export const GUIDE_NO_DATA = 'No reading from the sensors. The move begins when they send again.';
export function leftWords(seconds: number): string {
  return seconds > 0 ? `In ${seconds}` : 'Now';
}
export const ENOUGH = 'Go on without the rest';
export const TRIM_COST = 'Without it the shaft’s angle at the top is about 1.2° off and bend 1.6°, with it 0.4° and 1.4° (simulated practices). It takes about a minute and a half, once for new sensors, with both in your hands.';
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
export const FIRST_SWING = 'Ready. Stand to the ball, be still for half a second, and swing.';
export function firstSwingFailed(why: string): string {
  return `That swing could not be measured. ${why} Stand to the ball again.`;
}

// Of single components.
export const CAUTIONS_TITLE = 'Before you swing';
export const CAUTIONS_READ = 'I have read this';
export const THE_DRILL = 'The drill';
export const PROGRAM = 'Pitchbend';
export const NOT_CHOSEN = 'Not chosen: the server does not answer.';
export const DRILLS_HINT = "Tap the drill in force to begin its blocks anew. Targets are a coach's choice and no norm.";
export const FIT_TAKEN = '✓ taken';
export const FIT_HOLDING = 'Hold still…';
export const FIT_WATCHING = 'Watching…';
export const FIT_AGAIN = 'Do it again';
export const FIT_IN_POSE = 'I am in the pose';
export const FIT_I_BEGIN = 'I begin';
export const FIT_MOVES = 'Fit moves';
export const FIT_SPREAD = 'One standard deviation: the true direction is that near about two times in three.';
export const BACK_TO_SWING = 'Back to the swing';
export const PHASE_TITLE = 'Where in the swing';
export const FIT_ANEW = 'Fit the sensors again';
export const THEME_EVENING = 'Evening';
export const THEME_DAY = 'Day';
export const COACH_UNLOADED = 'The coach page could not be loaded. Check the network and load the page again.';
export const DISMISS = 'Dismiss';
export const NOTICES = 'Notices';

/* Drills: quantities of a whole swing, the second drill, short sounds, and the editor. */
export const ONCE_A_SWING = 'known once a swing';
export const IN_THE_BAND = 'in the band';
export const CHANGE_DRILL = 'Change this drill';
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
export const ALSO = 'Also:';
/** How a rep stood to the second drill. */
export function secondWords(judged: JudgedView, drill: DrillView): string {
  const worst = judged.worst ?? null;
  if (judged.verdict === 'unknown' || worst === null) return 'not judged';
  if (judged.verdict === 'in_band') return IN_THE_BAND;
  const past = judged.verdict === 'below' ? drill.low - worst : worst - drill.high;
  return `${sideWord(judged.quantity, judged.verdict === 'above')} ${excessWords(past, judged.quantity)} past its band`;
}
export const TEST_SOUND = 'Try the sound';
export const NOTHING_HEARD = 'Nothing heard? Look at the ring switch and the media volume, and take wireless headphones off: the sound may go there, and comes late.';

/* The lesson: who steers, and what the coach says. */
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
export const COACH_SAYS = 'Your coach says';
export const SAID_READ = 'I have read it';
