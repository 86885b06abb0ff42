/** One practice: what it was, its reps as they come in, and the lines of those that were asked for. */
import { addNote, oneRep, practice, reasonWords, removeNote, repColumns, trace } from '../../api/client';
import type { RepColumns } from '../../api/types.gen';
import type { Mark, PracticeWhole, Stint } from '../../api/kinds';
import { rowsOf, type RepRow } from './rows';
import { SwingLine } from './swing_line';

/** Lines kept; the one used longest ago goes first. */
const KEPT = 60;

export type Line = { readonly swing: SwingLine | null; readonly trouble: string; readonly done: number | null };
const WAITING: Line = { swing: null, trouble: '', done: null };

export class PracticeState {
  whole = $state.raw<PracticeWhole | null>(null);
  reps = $state.raw<readonly RepRow[]>([]);
  complete = $state(false);
  trouble = $state('');
  /** By rep: its line, and its values at the marks it passed. */
  lines = $state.raw<ReadonlyMap<number, Line>>(new Map());
  marks = $state.raw<ReadonlyMap<number, readonly Mark[]>>(new Map());

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

  /** A very long list comes in parts, shown as they come in. */
  private async loadReps(): Promise<void> {
    let after: string | null = null;
    do {
      const columns: RepColumns = await repColumns(this.key, { after });
      this.stop.signal.throwIfAborted();
      this.reps = [...this.reps, ...rowsOf(columns)];
      after = columns.next;
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

  /** Fetches a rep's values at its marks unless they are here. */
  async wantMarks(number: number): Promise<void> {
    if (this.marks.has(number)) return;
    try {
      const { marks } = await oneRep(this.key, number, this.stop.signal);
      this.marks = new Map([...this.marks, [number, marks]]);
    } catch (error) {
      if (!this.stop.signal.aborted) this.trouble = reasonWords(error);
    }
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
