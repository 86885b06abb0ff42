/** Words that every page uses: the state of the link, the ways from page to page, numbers. */
import type { Status } from '../state/live.svelte';
import type { HelloMessage, Side } from '../wire/types.gen';

/** Whole degrees with a true minus sign; the plus only where the sign carries meaning. */
export function signed(deg: number, withPlus = true): string {
  const whole = Math.round(deg);
  return `${whole < 0 ? '−' : whole > 0 && withPlus ? '+' : ''}${Math.abs(whole)}°`;
}

/** A number's text with a true minus sign. */
export function minus(text: string): string {
  return text.replace('-', '−');
}

export const NO_VALUE = '–';

/** One standard deviation, never said smaller than it is. */
export function spreadWords(sdDeg: number | null | undefined): string {
  return typeof sdDeg === 'number' ? `± ${Math.max(1, Math.ceil(sdDeg))}°` : '';
}

export const SPREAD_LABEL = 'one standard deviation:';
export const LEAD_WORDS: Readonly<Record<Side, string>> = { left: 'lead arm left', right: 'lead arm right' };

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
const STATUS_ADVICE: Readonly<Record<Status, string>> = {
  connecting: 'Connecting to Pitchbend on your computer.',
  lost: 'Pitchbend on your computer does not answer. Check that it is still running and that this device is on the same network; the page comes back by itself.',
  refused: 'This address opens no practice to this device.',
  sent_away: 'Somebody who runs this practice has ended your visit. To come back, ask them for a new link or picture to scan.',
  waiting: 'Connected. Waiting for the first reading from the sensors.',
  live: '',
  stale: 'No reading for over a second, so nothing is shown or sounded. Pitchbend may be busy working out a fit; if this lasts, check both sensors.',
  ended: 'The recording has ended.'
};
const RECORDED_ADVICE: Partial<Record<Status, string>> = {
  waiting: 'Connected. The recording has not come to the first reading yet.',
  stale: 'For over a second the recording has no reading, so nothing is shown or sounded.'
};
/** Why sensors are not heard says more than that nothing comes. */
export function statusAdvice(live: { readonly status: Status; readonly recorded: boolean; readonly linkTrouble: string }): string {
  if (live.linkTrouble) return live.linkTrouble;
  return (live.recorded ? RECORDED_ADVICE[live.status] : undefined) ?? STATUS_ADVICE[live.status];
}

export const STAND_VIEW = 'Large figures';
export const WHOLE_PAGE = 'Whole page';
export const PROGRAM = 'Pitchbend';
export const BACK_TO_SWING = 'Back to the swing';
export const THEME_EVENING = 'Evening';
export const THEME_DAY = 'Day';
export const PAGE_UNLOADED = 'The page could not be loaded. Check the network and load the page again.';
export const DISMISS = 'Dismiss';
export const NOTICES = 'Notices';
export const PRACTICES_KEPT = 'Practices so far';
export function sourceWords(kind: HelloMessage['source']['kind'], speed: number): string {
  return { demo: 'Demo', live: 'Live', replay: 'Replay', virtual: 'Virtual sensors' }[kind] + (speed === 1 ? '' : speed === 0 ? ' at its fastest' : ` at ${speed}×`);
}
