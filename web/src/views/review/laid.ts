import type { SwingLine } from '../../state/review/swing_line';

/** A rep laid over the one that is open. */
export interface Laid {
  readonly number: number;
  readonly line: SwingLine;
  /** The coach's model, which may be of another practice. */
  readonly model: boolean;
}
