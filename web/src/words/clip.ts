/** Words about a player's own video clip. */
import type { Listening } from '../state/review/clip.svelte';

export const CLIP_TITLE = 'Video';
export const CLIP_CHOOSE = 'Choose a clip of this swing';
export const CLIP_PRIVACY = 'It stays in this browser: nothing is sent.';
export const CLIP_REMOVE = 'Take it away';
export const CLIP_HERE = 'The ball is struck here';
export const CLIP_EARLIER = 'Earlier by a hundredth of a second';
export const CLIP_LATER = 'Later by a hundredth of a second';
export const CLIP_EARLIER_SHORT = '− 0.01 s';
export const CLIP_LATER_SHORT = '+ 0.01 s';
export const CLIP_OWN_SLIDER = 'Place in the clip';
export const CLIP_UNPLAYABLE = 'This browser cannot show that file. Clips in MP4 or WebM play in most.';
export const CLIP_NO_PICTURE =
  'This browser plays the sound of that clip and shows no picture: phones often save HEVC, which many browsers cannot draw. Have the phone save in its most compatible form, or open this page on the phone itself.';
export const CLIP_NOT_KEPT = 'This browser has no room to keep it: choose it again next time.';
export const CLIP_NO_IMPACT = 'No strike was felt in this rep. Find the takeaway in the clip and press the button there.';
export const CLIP_TAKEAWAY_HERE = 'The takeaway begins here';
export const STRIKES_TITLE = 'Strikes heard';

const HEARING: Readonly<Record<Listening, string>> = {
  no: '',
  listening: 'Listening for the strike',
  found: '',
  silent: 'No strike is heard in the clip. Move to where the ball is struck and press the button.',
  unreadable: 'The clip has no sound that this browser can read. Move to where the ball is struck and press the button.',
  too_large: 'The clip is too long to listen to. Move to where the ball is struck and press the button.'
};
export function hearingWords(listening: Listening): string {
  return HEARING[listening];
}
export function strikeWords(tS: number): string {
  return `at ${tS.toFixed(2)} s`;
}
export function clipPlaceWords(clipS: number): string {
  return `${clipS.toFixed(2)} s of the clip`;
}
