/** What tests of the review page may look at and move. */
import * as figure from './state/review/figure';
import * as phase from './state/review/phase';
import * as ranking from './state/review/ranking';
import { picture } from './state/review/trace_picture';
import type { SwingLine } from './state/review/swing_line';
import type { WhatIfResult } from './state/review/what_if.svelte';
import { strikes } from './video/strikes';
import * as rows from './state/review/window';
import * as view from './scene/view';

export interface OpenRep {
  line(): SwingLine | null;
  tS(): number;
  go(tS: number): void;
  whatIf(): WhatIfResult | null;
}
export interface ReviewHooks {
  readonly open: OpenRep | null;
  readonly pure: typeof phase & typeof ranking & typeof view & typeof figure & typeof rows & { strikes: typeof strikes; picture: typeof picture };
}

declare global {
  interface Window {
    __pitchbendReview?: ReviewHooks;
  }
}

/** Gives what takes the rep off again, unless another has come in the meantime. */
export function exposeReviewHooks(open: OpenRep | null): () => void {
  const pure = { ...phase, ...ranking, ...view, ...figure, ...rows, strikes, picture };
  const hooks: ReviewHooks = { open, pure };
  window.__pitchbendReview = hooks;
  return () => {
    if (window.__pitchbendReview === hooks) window.__pitchbendReview = { open: null, pure };
  };
}
