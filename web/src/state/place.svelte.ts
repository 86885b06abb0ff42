/** Which view is open. It stands in the address, so that a phone's own way back leads out of it. */
export const HEALTH = '#sensors';
export const DRILL = '#drill';
export const JOIN = '#join';
/** The page that one practises with; so is any address that is no other's. */
export const LIVE = '#live';
/** The coach's page; `#coach/<bay>` has that student enlarged. */
export const COACH = '#coach';
/** Practices kept; `#review/<practice>` opens one, `#review/<practice>/<rep>` at that rep. */
export const REVIEW = '#review';
/** How a player came along: `#progress/<player>`. */
export const PROGRESS = '#progress';

class Place {
  hash = $state(window.location.hash);
  /** The view that this one was opened from. */
  before = '';

  constructor() {
    window.addEventListener('hashchange', () => {
      this.before = this.hash;
      this.hash = window.location.hash;
      window.scrollTo(0, 0);
    });
  }
}

export const place = new Place();

export function goTo(hash: string): void {
  window.location.hash = hash;
}
