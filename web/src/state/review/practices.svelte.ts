/** The list of practices, by player, a page at a time. */
import { players, practices, reasonWords } from '../../api/client';
import { Problem } from '../../api/problem';
import type { Player, Practice } from '../../api/kinds';

const PAGE = 50;

export class Practices {
  items = $state.raw<readonly Practice[]>([]);
  players = $state.raw<readonly Player[]>([]);
  player = $state<string | null>(null);
  loading = $state(false);
  /** Something was answered: an empty list is one. */
  heard = $state(false);
  trouble = $state('');
  /** Why nothing at all is shown to whoever looks. */
  refused = $state('');
  /** The player whose practices alone are shown; null: everybody's. */
  onlyOf = $state<string | null>(null);
  next = $state<string | null>(null);

  private asked = 0;

  constructor() {
    void this.restart();
    players({ limit: 500 }).then(
      (page) => (this.players = page.items),
      () => undefined // the list of practices says what is wrong
    );
  }

  choose(player: string | null): void {
    this.player = player;
    void this.restart();
  }

  restart(): Promise<void> {
    this.items = [];
    this.next = null;
    this.heard = false;
    return this.more();
  }

  async more(): Promise<void> {
    this.asked += 1;
    const mine = this.asked;
    this.loading = true;
    this.trouble = '';
    try {
      const page = await practices({ limit: PAGE, after: this.next, ...(this.player === null ? {} : { player: this.player }) });
      if (mine !== this.asked) return;
      this.items = [...this.items, ...page.items];
      this.next = page.next;
      this.onlyOf = page.only_of;
      this.heard = true;
    } catch (error) {
      if (mine !== this.asked) return;
      if (error instanceof Problem && error.code === 'not_yours') this.refused = error.detail;
      else this.trouble = reasonWords(error);
    } finally {
      if (mine === this.asked) this.loading = false;
    }
  }
}
