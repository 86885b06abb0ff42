/** A long list that rolls by: which rows are in the document, whatever way it is moved. The keyboard's focus stays where it is. */
import { untrack } from 'svelte';
import { shownRows, slotsOf, type Slot } from './window';

export class Rolling {
  scrolledPx = $state(0);
  viewPx = $state(400);
  /** With the keyboard's focus in it: the row, and what has it. */
  private held = $state.raw<{ readonly at: number; readonly element: HTMLElement } | null>(null);
  private last: readonly Slot[] = [];
  private moving = false;

  /** `rowPx` is the height of a row, or its width where the list rolls to the side. */
  constructor(
    private readonly count: () => number,
    private readonly rowPx: number
  ) {
    // What the document does between these two is our doing: a piece that is put elsewhere loses the focus.
    $effect.pre(() => {
      void this.slots;
      this.moving = true;
    });
    $effect(() => {
      void this.slots;
      this.moving = false;
      const element = untrack(() => this.held?.element);
      if (element?.isConnected && document.activeElement !== element) element.focus({ preventScroll: true });
    });
  }

  private readonly shown = $derived.by(() => shownRows(this.count(), this.scrolledPx, this.viewPx, this.rowPx));
  private readonly first = $derived(this.shown.first);
  private readonly end = $derived(this.shown.end);
  /** Only another first or last row makes others. */
  readonly slots: readonly Slot[] = $derived.by(() => {
    const held = this.held !== null && this.held.at < this.count() ? this.held.at : null;
    return (this.last = slotsOf(this.last, { first: this.first, end: this.end }, held));
  });

  hold(at: number, event: FocusEvent): void {
    const element = event.target;
    if (element instanceof HTMLElement && element !== this.held?.element) this.held = { at, element };
  }

  /** Not while the focus goes on within the row, nor when only the window loses it. */
  release({ currentTarget: row, relatedTarget: to, target: from }: FocusEvent): void {
    const within = row instanceof Node && to instanceof Node && row.contains(to);
    if (!this.moving && !within && document.activeElement !== from) this.held = null;
  }
}
