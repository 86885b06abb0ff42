/** "What if" at a frozen instant: asked of the service once the sliders rest, since its model is the one the practice was measured with. */
import { reasonWords, whatIf } from '../../api/client';
import type { ClubSeen } from '../../api/types.gen';
import type { Poses } from './figure';
import type { Quat } from './vec';

export interface WhatIfResult {
  readonly was: ClubSeen;
  readonly would: ClubSeen;
  readonly poses: Poses;
  readonly bendByDeg: number;
  readonly rollByDeg: number;
}

export const MOST_DEG = 30;
const REST_MS = 90;

export class WhatIf {
  bendByDeg = $state(0);
  rollByDeg = $state(0);
  result = $state.raw<WhatIfResult | null>(null);
  trouble = $state('');

  private timer = 0;
  private going: AbortController | null = null;

  /** The instant has moved or a slider has: what was answered before is of something else. */
  ask(key: string, rep: number, tS: number): void {
    window.clearTimeout(this.timer);
    this.going?.abort();
    this.trouble = '';
    if (this.bendByDeg === 0 && this.rollByDeg === 0) {
      this.result = null;
      return;
    }
    this.timer = window.setTimeout(() => void this.fetch(key, rep, tS), REST_MS);
  }

  reset(): void {
    this.bendByDeg = 0;
    this.rollByDeg = 0;
  }

  close(): void {
    window.clearTimeout(this.timer);
    this.going?.abort();
  }

  private async fetch(key: string, rep: number, tS: number): Promise<void> {
    const going = new AbortController();
    this.going = going;
    const [bendByDeg, rollByDeg] = [this.bendByDeg, this.rollByDeg];
    try {
      const answer = await whatIf(key, rep, { t_s: tS, bend_by_deg: bendByDeg, roll_by_deg: rollByDeg }, { signal: going.signal });
      if (going.signal.aborted) return;
      const { q_earth_from_forearm: forearm, q_earth_from_hand: hand, q_earth_from_club: club } = answer.poses;
      this.result = { was: answer.unchanged, would: answer.changed, poses: { forearm: forearm as Quat, hand: hand as Quat, club: club as Quat }, bendByDeg, rollByDeg };
    } catch (error) {
      if (going.signal.aborted) return;
      this.result = null;
      this.trouble = reasonWords(error);
    }
  }
}
