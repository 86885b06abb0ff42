/** A player's own clip of one swing: which file, and how its time lies to the rep's. Nothing of it leaves the browser. */
import { clipKey, dropClip, keepClip, keptClip } from '../../video/kept';
import { soundOf, strikes, type Strike } from '../../video/strikes';

/** Larger ones are not read for their sound: all of it would have to lie in memory. */
const MOST_SOUND_BYTES = 300 * 2 ** 20;

export type Listening = 'no' | 'listening' | 'found' | 'silent' | 'unreadable' | 'too_large';

export class ClipState {
  url = $state('');
  name = $state('');
  /** Time in the clip less time since takeaway. */
  offsetS = $state<number | null>(null);
  heard = $state.raw<readonly Strike[]>([]);
  listening = $state<Listening>('no');
  /** The browser does not keep it for the next visit. */
  kept = $state(true);

  private file: File | null = null;
  private readonly key: string;

  /** `impactS`: the rep's impact, since its takeaway; null when none was felt. */
  constructor(
    practice: string,
    rep: number,
    private readonly impactS: number | null
  ) {
    this.key = clipKey(practice, rep);
    void this.recall();
  }

  close(): void {
    if (this.url) URL.revokeObjectURL(this.url);
    this.url = '';
  }

  async choose(file: File): Promise<void> {
    this.show(file, null);
    await this.keep();
    await this.listen(file);
  }

  async remove(): Promise<void> {
    this.close();
    this.file = null;
    this.offsetS = null;
    this.heard = [];
    this.listening = 'no';
    await dropClip(this.key).catch(() => undefined);
  }

  /** This instant of the clip is the rep's impact. */
  async impactAt(clipS: number): Promise<void> {
    await this.align(clipS - (this.impactS ?? 0));
  }

  /** The picture comes so much later. */
  async nudge(byS: number): Promise<void> {
    await this.align((this.offsetS ?? 0) + byS);
  }

  /** Where the clip stands at an instant of the rep. */
  at(tS: number): number | null {
    return this.offsetS === null ? null : Math.max(0, tS + this.offsetS);
  }

  private async align(offsetS: number): Promise<void> {
    this.offsetS = offsetS;
    await this.keep();
  }

  private show(file: File, offsetS: number | null): void {
    this.close();
    this.file = file;
    this.name = file.name;
    this.url = URL.createObjectURL(file);
    this.offsetS = offsetS;
    this.heard = [];
    this.listening = 'no';
  }

  private async recall(): Promise<void> {
    const found = await keptClip(this.key).catch(() => undefined);
    if (!found || this.file) return;
    this.show(found.file, found.offsetS);
    await this.listen(found.file);
  }

  private async keep(): Promise<void> {
    if (!this.file) return;
    this.kept = await keepClip(this.key, { file: this.file, offsetS: this.offsetS }).then(
      () => true,
      () => false // private browsing, or no room
    );
  }

  private async listen(file: File): Promise<void> {
    if (file.size > MOST_SOUND_BYTES) {
      this.listening = 'too_large';
      return;
    }
    this.listening = 'listening';
    try {
      const { samples, rateHz } = await soundOf(file);
      if (file !== this.file) return;
      this.heard = strikes(samples, rateHz);
    } catch {
      if (file === this.file) this.listening = 'unreadable';
      return;
    }
    const [first] = this.heard;
    this.listening = first ? 'found' : 'silent';
    if (first && this.offsetS === null && this.impactS !== null) await this.impactAt(first.tS);
  }
}
