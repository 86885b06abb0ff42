/** Whether the page is for the golfer at the ball (`stand`) or holds everything (`whole`). Phones begin with the first. */
import { loadSetting, saveSetting } from '../settings';

export type View = 'stand' | 'whole';

/** CSS pixels of the short side; tablets and laptops have more. */
const PHONE_PX = 500;

export class Layout {
  view = $state<View>('whole');

  constructor() {
    const chosen = loadSetting('view');
    const phone = Math.min(window.innerWidth, window.innerHeight) < PHONE_PX;
    this.view = chosen === 'stand' || chosen === 'whole' ? chosen : phone ? 'stand' : 'whole';
  }

  show(view: View): void {
    this.view = view;
    saveSetting('view', view);
    window.scrollTo(0, 0);
  }
}
