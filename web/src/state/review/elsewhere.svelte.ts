/** Reps laid over that may be of another practice, or of another player: their lines are fetched when they are wanted. */
import { playersBest, reasonWords, trace } from '../../api/client';
import type { BestRep } from '../../api/types.gen';
import { SwingLine } from './swing_line';

export class Elsewhere {
  line = $state.raw<SwingLine | null>(null);
  trouble = $state('');
  private going: AbortController | null = null;

  close(): void {
    this.going?.abort();
  }

  async show(key: string, number: number): Promise<void> {
    this.close();
    const going = (this.going = new AbortController());
    this.line = null;
    this.trouble = '';
    try {
      const found = await trace(key, number, { signal: going.signal });
      if (!going.signal.aborted) this.line = new SwingLine(found);
    } catch (error) {
      if (!going.signal.aborted) this.trouble = reasonWords(error);
    }
  }
}

/** The player's best rep of a rep's drill, over all practices. */
export class BestEver {
  /** Not asked yet: undefined. There is none: null. */
  found = $state.raw<BestRep | null | undefined>(undefined);
  readonly other = new Elsewhere();

  async ask(key: string, number: number): Promise<void> {
    if (this.found !== undefined) return;
    try {
      this.found = (await playersBest(key, number)).rep;
    } catch (error) {
      this.other.trouble = reasonWords(error);
      return;
    }
    if (this.found && !this.is(key, number)) await this.other.show(this.found.key, this.found.number);
  }

  is(key: string, number: number): boolean {
    return this.found?.key === key && this.found.number === number;
  }
}
