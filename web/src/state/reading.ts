/** What the newest frame says of the drill: its band, and how far past it the value is. */
import type { Band } from '../gauge/pen';
import { pastBand } from '../words/swing';
import type { DrillView, FrameMessage, Quantity } from '../wire/types.gen';

/** The drill's band when it is about this quantity. */
export function bandNow(quantity: Quantity, drill: DrillView | null, frame: FrameMessage | null): Band | null {
  if (drill?.quantity !== quantity || drill.low_deg === null || drill.high_deg === null) return null;
  return { lowDeg: drill.low_deg, highDeg: drill.high_deg, live: frame !== null && drill.phases.includes(frame.phase) };
}

/** "▼ 9° past", with the marks that the reps are told apart by; empty inside the band or outside the drill's phases. */
export function pastWords(quantity: Quantity, drill: DrillView | null, frame: FrameMessage | null): string {
  if (drill?.quantity !== quantity || !frame || frame.error_deg === 0) return '';
  const excess = Math.max(1, Math.round(Math.abs(frame.error_deg)));
  return pastBand(frame.error_deg < 0, `${excess}°`);
}
