/** One practice: what it was, its reps as they come in, and the lines of those that were asked for. */
import { addNote, practice, reasonWords, removeNote, reps, trace } from '../../api/client';
import type { RepPage } from '../../api/types.gen';
import type { PracticeWhole, Rep, Stint } from '../../api/kinds';
import { SwingLine } from './swing_line';

const PAGE = 500;
/** Lines kept; the one used longest ago goes first. */
const KEPT = 60;

export type Line = { readonly swing: SwingLine | null; readonly trouble: string; readonly done: number | null };
const WAITING: Line = { swing: null, trouble: '', done: null };

export class PracticeState {
  whole = $state.raw<PracticeWhole | null>(null);
  reps = $state.raw<readonly Rep[]>([]);
  complete = $state(false);
  trouble = $state('');
  /** By rep. */
  lines = $state.raw<ReadonlyMap<number, Line>>(new Map());

  private readonly stop = new AbortController();

  constructor(readonly key: string) {
    void this.load();
  }

  close(): void {
    this.stop.abort();
  }

  async load(): Promise<void> {
    this.trouble = '';
    this.reps = [];
    try {
      [this.whole] = await Promise.all([practice(this.key), this.loadReps()]);
      this.complete = true;
    } catch (error) {
      if (!this.stop.signal.aborted) this.trouble = reasonWords(error);
    }
  }

  /** Shown as they come in. */
  private async loadReps(): Promise<void> {
    let after: string | null = null;
    do {
      const page: RepPage = await reps(this.key, { limit: PAGE, after });
      this.stop.signal.throwIfAborted();
      this.reps = [...this.reps, ...page.items];
      after = page.next;
    } while (after !== null);
  }

  stint(number: number): Stint | null {
    return this.whole?.stints.find((stint) => stint.number === number) ?? null;
  }

  /** Fetches a rep's line unless it is here or on its way. */
  want(number: number): void {
    const known = this.lines.get(number);
    if (known && !known.trouble) return;
    this.put(number, WAITING);
    void this.fetchLine(number);
  }

  /** Pins a note to an instant of a rep. Fails with a `Problem`. */
  async note(text: string, rep: number, tS: number): Promise<void> {
    const note = await addNote(this.key, { text, rep_number: rep, after_takeaway_s: tS });
    if (this.whole) this.whole = { ...this.whole, notes: [...this.whole.notes, note] };
  }

  async takeBack(number: number): Promise<void> {
    await removeNote(this.key, number);
    if (this.whole) this.whole = { ...this.whole, notes: this.whole.notes.filter((note) => note.number !== number) };
  }

  private async fetchLine(number: number): Promise<void> {
    try {
      const found = await trace(this.key, number, { signal: this.stop.signal, onProgress: (done) => this.put(number, { ...WAITING, done }) });
      this.put(number, { ...WAITING, swing: new SwingLine(found) });
    } catch (error) {
      if (!this.stop.signal.aborted) this.put(number, { ...WAITING, trouble: reasonWords(error) });
    }
  }

  private put(number: number, line: Line): void {
    const lines = new Map(this.lines);
    lines.delete(number);
    lines.set(number, line);
    for (const old of lines.keys()) {
      if (lines.size <= KEPT) break;
      lines.delete(old);
    }
    this.lines = lines;
  }
}
