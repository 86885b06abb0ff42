/** The words of the page on which others are let in. */
import type { GuestRole, Trouble } from '../state/joining.svelte';

export const JOIN_OPEN = 'Let others join';
export const JOIN_TITLE = 'Let others join';
export const JOIN_BACK = 'Back';
export const JOIN_HOW = 'Point a phone’s camera at a picture, or type the address below it. The phone must be in the same network as this computer.';
export const JOIN_CAUTION = 'Show a picture only to those who should see this practice: whoever has it gets in. Others in the same network can listen in on what goes through the air.';
export const JOIN_CAUTION_SECURE = 'Show a picture only to those who should see this practice: whoever has it gets in. What goes through the air is encrypted.';
export const JOIN_LOADING = 'Fetching the links.';
export const JOIN_ADDRESS = 'Address of this computer. If a phone gets no page, try another one:';
export const JOIN_NO_NETWORK = 'This computer is in no network, so no phone can reach it. Join it to a Wi-Fi or to a phone’s hotspot; the links then appear here.';
export const JOIN_CLOSED = 'This practice is for this computer only. To let phones join, stop Pitchbend and start it with --lan, for example: pitchbend demo --lan';

export const JOIN_TROUBLE: Readonly<Record<Trouble, string>> = {
  none: '',
  away: 'Pitchbend on your computer does not answer. Check that it is still running; the page asks again by itself.',
  not_allowed: 'Only the computer itself and coaches can let others join. Open this page there.',
  not_done: 'That could not be done. What is shown here is how it stands now.'
};

export const GUEST_WORDS: Readonly<Record<GuestRole, { readonly title: string; readonly may: string; readonly who: string }>> = {
  student: { title: 'To practise', may: 'Sees and hears this practice and earlier ones of its player, chooses drill, sensors and club.', who: 'student' },
  coach: { title: 'To coach', may: 'The same for all players, and may let others in and send them away.', who: 'coach' },
  viewer: { title: 'To watch', may: 'Looks and listens, can change nothing, and sees nothing that is stored.', who: 'watches' }
};

export function linkTitle(role: GuestRole, place: string): string {
  return place ? `${GUEST_WORDS[role].title}, ${place}` : GUEST_WORDS[role].title;
}
export function pictureWords(role: GuestRole, place: string): string {
  return `Picture to scan. ${linkTitle(role, place)}`;
}
export const TRUST_TITLE = 'First, once for each device';
export const TRUST_WHY = 'A device warns of this computer until it trusts it. This picture leads to a page that says how, and how to stop. Then scan one of the others.';
export const TRUST_PICTURE = 'Picture to scan. How to trust this computer';
export const TRUST_NUMBER = 'The number to compare there, SHA-256:';

export const RENEW = 'Make a new link';
export function renewSure(role: GuestRole): string {
  return `Everybody who came ${GUEST_WORDS[role].title.toLowerCase()} is sent away, and the old link lets nobody in.`;
}
export const RENEW_YES = 'Yes, a new link';

export const GUESTS_TITLE = 'Who has joined';
export const GUESTS_NONE = 'Nobody yet.';
export const SEND_AWAY = 'Send away';
export const SEND_AWAY_SURE = 'This device is out at once, and the link it came by is made anew. The others stay.';
export const SEND_AWAY_YES = 'Yes, send away';
export const NO = 'No';
export function sendAwayWords(name: string): string {
  return `Send away ${name}`;
}

export function guestWords(role: GuestRole, place: string, address: string, joinedSAgo: number, here: boolean): string {
  const minutes = Math.floor(joinedSAgo / 60);
  const when = minutes < 1 ? 'just now' : minutes < 60 ? `${minutes} min ago` : `${Math.floor(minutes / 60)} h ago`;
  return [GUEST_WORDS[role].who, place, address, `joined ${when}`, here ? 'page open now' : 'no page open now'].filter(Boolean).join(', ');
}
