/** What is looked at and how: the instant, the axis, what is drawn and laid over. One for a practice, so that the next rep is seen likewise. */
import type { Drawn } from '../../api/kinds';
import type { Axis } from './swing_line';

export const MOST_OVERLAYS = 6;

export class Looking {
  /** Since the takeaway of the rep that is open. */
  tS = $state(0);
  axis = $state<Axis>('time');
  toImpact = $state(false);
  shown = $state.raw<readonly Drawn[]>(['bend_change_deg', 'shaft_pitch_deg']);
  /** Numbers of reps of this practice. */
  overlays = $state.raw<readonly number[]>([]);
  model = $state(false);
  bestEver = $state(false);
  mean = $state(false);
  playing = $state(false);
  speed = $state(0.25);

  get full(): boolean {
    return this.overlays.length + (this.model ? 1 : 0) + (this.bestEver ? 1 : 0) >= MOST_OVERLAYS;
  }

  /** At least one stays. */
  toggleColumn(column: Drawn, order: readonly Drawn[]): void {
    const without = this.shown.filter((one) => one !== column);
    if (without.length === this.shown.length) this.shown = order.filter((one) => one === column || this.shown.includes(one));
    else if (without.length > 0) this.shown = without;
  }

  toggleOverlay(number: number): void {
    if (this.overlays.includes(number)) this.overlays = this.overlays.filter((one) => one !== number);
    else if (!this.full) this.overlays = [...this.overlays, number];
  }

  go(tS: number): void {
    this.playing = false;
    this.tS = tS;
  }
}
