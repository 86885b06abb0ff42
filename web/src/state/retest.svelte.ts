/** The test of an earlier day's drill: asked for once, offered until the first rep, and known again while it is under way. */
import type { RetestView } from '../api/types.gen';
import { loadSetting, saveSetting } from '../settings';
import type { BlockView, CourseView } from '../wire/types.gen';
import type { LiveState } from './live.svelte';

export class Retest {
  private due = $state.raw<RetestView | null>(null);
  private later = $state(loadSetting('retest-later') === today());
  private closed = $state(false);
  unsent = $state(false);
  private asked: string | null = null;

  constructor(private readonly live: LiveState) {}

  /** Look up what is due for this player. Whatever stands in the way of that is no matter to who wants to swing. */
  ask(player: string): void {
    if (this.asked === player) return;
    this.asked = player;
    this.due = null;
    // Loaded here: the first page asks nothing else over HTTP.
    import('../api/client').then(({ retests }) => retests(player)).then(
      (found) => (this.due = this.asked === player ? (found.items[0] ?? null) : this.due),
      () => undefined
    );
  }

  /** What may be begun now; null for nothing. */
  get offer(): RetestView | null {
    return this.live.reps.length === 0 && !this.later && this.block === null ? this.due : null;
  }

  /** The test that has been swung to its end, with its block; null for none. */
  get result(): { readonly due: RetestView; readonly block: BlockView } | null {
    const block = this.block;
    return this.due && block && block.swung >= block.reps && !this.closed ? { due: this.due, block } : null;
  }

  begin(): void {
    if (this.due) this.unsent = !this.live.askDrill({ type: 'drill_text', text: this.due.text });
    this.closed = false;
  }

  putOff(): void {
    saveSetting('retest-later', today());
    this.later = true;
  }

  close(): void {
    this.closed = true;
  }

  /** The drill itself, where it stands in a file. */
  get drillId(): string | null {
    return this.live.hello?.drills?.find((one) => one.name === this.due?.drill.name)?.id ?? null;
  }

  /** Begin the drill with its cue. */
  goOn(): void {
    const id = this.drillId;
    if (id) this.unsent = !this.live.chooseDrill(id);
  }

  private get block(): BlockView | null {
    const hello = this.live.hello;
    return hello?.drill.name === this.due?.drill.name ? onlyTest(hello?.course ?? null) : null;
  }
}

/** The one silent block of a course that is nothing else. */
export function onlyTest(course: CourseView | null): BlockView | null {
  const [block, ...others] = course?.blocks ?? [];
  return block?.cue === 'none' && others.length === 0 ? block : null;
}

function today(): string {
  return new Date().toDateString();
}
