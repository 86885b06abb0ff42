/** Which reps are shown, in what order, and which of them is the best. Pure. */
import type { RepKind, Stint, Verdict } from '../../api/kinds';
import type { RepRow } from './rows';

export interface Wanted {
  /** Number of a stint, or null for all. */
  readonly stint: number | null;
  readonly kind: RepKind | null;
  readonly verdict: Verdict | null;
}

export const SORTS = ['number', 'kind', 'verdict', 'worst', 'bend', 'pitch', 'backswing', 'tempo'] as const;
export type Sort = (typeof SORTS)[number];

export function filtered(reps: readonly RepRow[], wanted: Wanted): RepRow[] {
  return reps.filter((rep) => (wanted.stint === null || rep.stint === wanted.stint) && (wanted.kind === null || rep.kind === wanted.kind) && (wanted.verdict === null || rep.verdict === wanted.verdict));
}

const VERDICTS: readonly Verdict[] = ['in_band', 'below', 'above', 'unknown'];

export function sortKey(rep: RepRow, sort: Sort): number | string | null {
  switch (sort) {
    case 'number':
      return rep.number;
    case 'kind':
      return rep.kind;
    case 'verdict':
      return VERDICTS.indexOf(rep.verdict);
    case 'worst':
      return rep.worst;
    case 'bend':
      return rep.top_bend_change_deg;
    case 'pitch':
      return rep.lead_arm_level_shaft_pitch_deg;
    case 'backswing':
      return rep.backswing_s;
    case 'tempo':
      return rep.tempo;
  }
}

/** What is not known comes last, whichever way round; equals stay in the order they were swung. */
export function sorted(reps: readonly RepRow[], sort: Sort, down: boolean): RepRow[] {
  const keyed = reps.map((rep) => ({ rep, key: sortKey(rep, sort) }));
  keyed.sort((a, b) => {
    if (a.key === null || b.key === null) return a.key === b.key ? a.rep.number - b.rep.number : a.key === null ? 1 : -1;
    if (a.key === b.key) return a.rep.number - b.rep.number;
    return (a.key < b.key ? -1 : 1) * (down ? -1 : 1);
  });
  return keyed.map((one) => one.rep);
}

/** The rep of a drill whose worst instant lies nearest to the middle of its band; the earlier of two equal ones. */
export function bestOf(reps: readonly RepRow[], stint: Stint): RepRow | null {
  const middle = (stint.low + stint.high) / 2;
  let best: RepRow | null = null;
  let least = Infinity;
  for (const rep of reps) {
    if (rep.stint !== stint.number || rep.worst === null || rep.verdict === 'unknown' || rep.kind === 'paused') continue;
    const off = Math.abs(rep.worst - middle);
    if (off < least) [best, least] = [rep, off];
  }
  return best;
}
