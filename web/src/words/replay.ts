/** The bar with which a recording is wound. */
import type { ReplayTimelineMessage, TimelineRemark, TimelineRep, Verdict } from '../wire/types.gen';

export const REPLAY_TITLE = 'Recording';
export const PLAY = 'Play';
export const STOP = 'Stop';
export const PREVIOUS_REP = 'Previous rep';
export const NEXT_REP = 'Next rep';
export const STEP_BACK = 'Back one step';
export const STEP_ON = 'On one step';
export const LOOP = 'Repeat this rep';
export const SPEED = 'Speed';
export const WHERE = 'Place in the recording';
export const KEYS =
  'Keys: space plays and stops. The left and right arrows go a twentieth of a second, with shift a second. Comma and full stop go one packet. The opening bracket repeats this rep, the closing one goes on.';

/** Why a page cannot wind the recording. */
export const WATCH_ONLY = 'You look on: the student or the coach winds the recording.';

export const SPEEDS: readonly { speed: number; label: string }[] = [
  { speed: 0.25, label: '¼×' },
  { speed: 0.5, label: '½×' },
  { speed: 1, label: '1×' },
  { speed: 2, label: '2×' },
  { speed: 4, label: '4×' },
  { speed: 8, label: '8×' },
  { speed: 0, label: 'Fastest' }
];

export function speedWords(speed: number): string {
  return SPEEDS.find((one) => one.speed === speed)?.label ?? `${speed}×`;
}

/** Why nothing sounds; empty when it does. */
export function silentWords(playing: boolean, speed: number): string {
  if (!playing) return 'Stopped: silent';
  return speed === 1 ? '' : 'Silent: sounds at 1×';
}

/** Minutes, seconds and tenths. */
export function clockWords(seconds: number): string {
  const tenths = Math.round(seconds * 10);
  const minutes = Math.floor(tenths / 600);
  return `${minutes}:${((tenths % 600) / 10).toFixed(1).padStart(4, '0')}`;
}

const VERDICTS: Readonly<Record<Verdict, string>> = { in_band: 'in the band', below: 'past the band', above: 'past the band', unknown: 'not judged' };

/** Where it is, in one line. */
export function hereWords(rep: TimelineRep | null, n: number, remarks: readonly TimelineRemark[]): string {
  const parts = rep ? [`Rep ${rep.index} of ${n}, ${VERDICTS[rep.verdict]}`] : n > 0 ? [`${n} ${n === 1 ? 'rep' : 'reps'}`] : [];
  for (const one of remarks) {
    const by = one.by ? ` (${one.by})` : '';
    if (one.kind === 'mark') parts.push(one.mark === 'good' ? `marked as good${by}` : one.mark === 'look' ? `marked to look at again${by}` : `mark taken away${by}`);
    else parts.push(`“${one.text}”${by}`);
  }
  return parts.join(' · ');
}

export function readingWords(timeline: ReplayTimelineMessage | null): string {
  if (timeline?.trouble) return timeline.trouble;
  if (timeline?.duration_s != null) return timeline.reps.length === 0 ? 'No reps were found in this recording.' : '';
  return `Looking for the reps: ${Math.round(100 * (timeline?.progress ?? 0))} %`;
}
