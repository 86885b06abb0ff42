import type { SwingLine } from '../../state/review/swing_line';

/** A rep laid over the one that is open, and what it is called beside its line. */
export interface Laid {
  readonly words: string;
  readonly line: SwingLine;
}
