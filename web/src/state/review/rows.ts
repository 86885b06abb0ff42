/** Reps as a list shows them: a small object each, made once from the columns that the service sends. */
import type { RepColumns, RepKind, Verdict } from '../../api/types.gen';

export interface RepRow {
  readonly number: number;
  readonly stint: number;
  readonly kind: RepKind;
  readonly verdict: Verdict;
  /** In the unit of the stint's drill. */
  readonly worst: number | null;
  readonly backswing_s: number;
  readonly tempo: number | null;
  readonly quality: string;
  readonly top_bend_change_deg: number | null;
  readonly lead_arm_level_shaft_pitch_deg: number | null;
}

export function rowsOf(columns: RepColumns): RepRow[] {
  return columns.number.map((number, i) => ({
    number,
    stint: columns.stint[i] ?? 0,
    kind: columns.kind[i] ?? 'cued',
    verdict: columns.verdict[i] ?? 'unknown',
    worst: columns.worst[i] ?? null,
    backswing_s: columns.backswing_s[i] ?? 0,
    tempo: columns.tempo[i] ?? null,
    quality: columns.quality[i] ?? '',
    top_bend_change_deg: columns.top_bend_change_deg[i] ?? null,
    lead_arm_level_shaft_pitch_deg: columns.lead_arm_level_shaft_pitch_deg[i] ?? null
  }));
}
