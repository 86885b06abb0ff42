/** What the bar of a recording works out: where one is among its reps, and what a key means. */
import type { ReplayAsk } from '../wire/decode';
import type { ReplayTimelineMessage, ReplayView, TimelineRemark, TimelineRep } from '../wire/types.gen';

export const STEP_S = 0.05;
const LONG_STEP_S = 1;
/** A remark is shown while one is as near as this. */
const NEAR_S = 1.5;

/** The rep that is under way at a time, or the one before. */
export function repAt(timeline: ReplayTimelineMessage | null, atS: number): TimelineRep | null {
  return timeline?.reps.filter((rep) => rep.from_s <= atS + 0.001).at(-1) ?? null;
}

export function remarksAt(timeline: ReplayTimelineMessage | null, atS: number): readonly TimelineRemark[] {
  return timeline?.remarks.filter((one) => Math.abs(one.t_s - atS) <= NEAR_S) ?? [];
}

/** How far the track reaches: to the end, or as far as is known. */
export function lengthS(timeline: ReplayTimelineMessage | null, atS: number): number {
  return Math.max(timeline?.duration_s ?? timeline?.known_s ?? 0, atS, 1);
}

/** What a key asks for; null when it is nobody's here. */
export function keyAsk(key: string, shift: boolean, replay: ReplayView, rep: TimelineRep | null): ReplayAsk | null {
  const stepS = shift ? LONG_STEP_S : STEP_S;
  switch (key) {
    case ' ':
      return { type: 'replay_play', playing: !replay.playing };
    case 'ArrowLeft':
      return { type: 'replay_skip', by_s: -stepS };
    case 'ArrowRight':
      return { type: 'replay_skip', by_s: stepS };
    case ',':
      return { type: 'replay_step', packets: -1 };
    case '.':
      return { type: 'replay_step', packets: 1 };
    case '[':
      return rep ? { type: 'replay_loop', rep: rep.index } : null;
    case ']':
      return { type: 'replay_loop', rep: null };
    default:
      return null;
  }
}

const CONTROLS = ['input', 'textarea', 'select', 'button', 'a', 'summary', '[contenteditable]'].join();

/** Keys are the bar's where nothing else is being done with them. */
export function keysAreFree(target: EventTarget | null, key: string): boolean {
  if (!(target instanceof Element) || target === document.body) return true;
  const control = target.closest(CONTROLS);
  if (!control) return true;
  if (!control.closest('[data-replay]')) return false;
  // On the track the arrows wind; on a button space presses it, in the list they choose.
  return control instanceof HTMLInputElement || (control instanceof HTMLButtonElement && key !== ' ');
}
