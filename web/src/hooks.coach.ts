/** What tests of the coach page may look at. Reading it changes nothing. */
import { bandSpan, markTimes } from './plot/band';
import { columns, degRange } from './plot/lines';
import type { BayState } from './state/bay.svelte';
import { Swings } from './state/swing';

export interface CoachHooks {
  bay(): BayState | null;
  newSwings(): Swings;
  readonly columns: typeof columns;
  readonly degRange: typeof degRange;
  readonly markTimes: typeof markTimes;
  readonly bandSpan: typeof bandSpan;
}

declare global {
  interface Window {
    __pitchbendCoach?: CoachHooks;
  }
}

export function exposeCoachHooks(bay: () => BayState | null): void {
  window.__pitchbendCoach = { bay, newSwings: () => new Swings(), columns, degRange, markTimes, bandSpan };
}
