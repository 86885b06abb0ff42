/** Coaches' answers to a practice, and one that is being written. */
import { answers, drills, keepDrill, makeAnswer, reasonWords } from '../../api/client';
import type { AnswerView, DrillView, NoteView } from '../../api/types.gen';
import { loadSetting, saveSetting } from '../../settings';

/** As the service takes them. */
export const MOST = { author: 80, priority: 200 } as const;

export class Answering {
  found = $state.raw<readonly AnswerView[]>([]);
  drills = $state.raw<readonly DrillView[]>([]);
  trouble = $state('');
  author = $state(loadSetting('answer-author') ?? '');
  priority = $state('');
  drill = $state('');
  /** Numbers of notes that stay here. */
  left = $state.raw<readonly number[]>([]);
  making = $state(false);
  made = $state(false);
  kept = $state.raw<readonly string[]>([]);

  constructor(private readonly key: string) {
    void this.load();
  }

  async load(): Promise<void> {
    try {
      [{ items: this.found }, { items: this.drills }] = await Promise.all([answers(this.key), drills()]);
    } catch (error) {
      this.trouble = reasonWords(error);
    }
  }

  get ready(): boolean {
    return !this.making && this.author.trim() !== '' && this.priority.trim() !== '';
  }

  toggle(note: number): void {
    this.left = this.left.includes(note) ? this.left.filter((one) => one !== note) : [...this.left, note];
  }

  async make(notes: readonly NoteView[]): Promise<void> {
    this.making = true;
    this.made = false;
    this.trouble = '';
    saveSetting('answer-author', this.author.trim());
    const along = sendable(notes).filter((note) => !this.left.includes(note.number));
    try {
      const { file, name } = await makeAnswer(this.key, {
        author: this.author.trim(),
        priority: this.priority.trim(),
        drill_text: this.drills.find((one) => one.id === this.drill)?.text ?? null,
        notes: along.map((note) => ({ rep: note.rep_number ?? 0, after_takeaway_s: note.after_takeaway_s, text: oneLine(note.text) }))
      });
      save(file, name);
      this.made = true;
      await this.load();
    } catch (error) {
      this.trouble = reasonWords(error);
    } finally {
      this.making = false;
    }
  }

  async keep(text: string): Promise<void> {
    this.trouble = '';
    try {
      await keepDrill(text);
      this.kept = [...this.kept, text];
    } catch (error) {
      this.trouble = reasonWords(error);
    }
  }
}

/** Notes that can go into an answer: those on a rep. */
export function sendable(notes: readonly NoteView[]): NoteView[] {
  return notes.filter((note) => note.kind === 'note' && note.rep_number !== null);
}

/** A note there is one line of at most 500 characters. */
function oneLine(text: string): string {
  return text.replace(/\s+/g, ' ').slice(0, 500);
}

function save(file: Blob, name: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(file);
  link.download = name;
  link.click();
  window.setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
