/** The sound, and the screen that has to stay on with it. */
import type { SoundState } from '../audio/engine.svelte';
import type { WakeState } from '../state/wake.svelte';

export function lookAheadWords(ms: number): string {
  return ms === 0
    ? 'The cue begins when the band is left, and is heard that much later.'
    : `The cue begins ${ms} ms early, on the way out of the band. Some cues will be false: the way was not followed to its end.`;
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
export const TEST_SOUND = 'Try the sound';
export const NOTHING_HEARD = 'Nothing heard? Look at the ring switch and the media volume, and take wireless headphones off: the sound may go there, and comes late.';
export const SOUND_TITLE = 'Sound';
export const VOLUME = 'Volume';
export const CHIME_LABEL = 'Chime after a good rep';
export const SAY_LABEL = 'Say the result of each rep';
export const TONE_WORDS = 'A low note that falls: under the band. A high note that rises: over it. The louder end is limited on purpose.';
export function latencyWords(latencyMs: number | null, late: boolean): string {
  if (latencyMs === null) return 'The delay of this device’s sound is shown once it is on.';
  return `This device sounds ${latencyMs} ms late.${late ? ' That is too late for a backswing: use the loudspeaker or wired earphones, not wireless ones.' : ''}`;
}
export function beginEarly(delayMs: number | null): string {
  return delayMs === null ? 'Begin the cue early (turn the sound on first)' : `Begin the cue ${delayMs} ms early`;
}
export const BEGIN_AT_EDGE = 'Begin the cue at the band’s edge';
