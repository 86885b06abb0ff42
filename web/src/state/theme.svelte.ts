/** Paper by day, its inverse in the evening. Without a choice of the user's the device decides. */
import { loadSetting, saveSetting } from '../settings';

export type ThemeName = 'day' | 'evening';

/** What the pictures are drawn with; read from the style sheet so that there is one palette. */
export interface Inks {
  readonly paper: string;
  readonly ink: string;
  readonly soft: string;
  readonly line: string;
  readonly lineStrong: string;
  readonly accent: string;
  readonly accentWash: string;
  readonly alarm: string;
  readonly font: string;
}

export class Theme {
  name = $state<ThemeName>('day');
  /** Plain, for the paint loop; replaced as a whole at each change. */
  inks: Inks;

  constructor() {
    const dark = window.matchMedia('(prefers-color-scheme: dark)');
    const chosen = loadSetting('theme');
    this.name = chosen === 'day' || chosen === 'evening' ? chosen : dark.matches ? 'evening' : 'day';
    dark.addEventListener('change', (event) => {
      if (loadSetting('theme') === null) this.apply(event.matches ? 'evening' : 'day');
    });
    this.inks = this.apply(this.name);
  }

  toggle(): void {
    const next = this.name === 'day' ? 'evening' : 'day';
    saveSetting('theme', next);
    this.apply(next);
  }

  private apply(name: ThemeName): Inks {
    this.name = name;
    document.documentElement.dataset['theme'] = name;
    const style = getComputedStyle(document.documentElement);
    const value = (property: string): string => style.getPropertyValue(property).trim();
    this.inks = {
      paper: value('--paper'),
      ink: value('--ink'),
      soft: value('--soft'),
      line: value('--line'),
      lineStrong: value('--line-strong'),
      accent: value('--accent'),
      accentWash: value('--accent-wash'),
      alarm: value('--alarm'),
      font: value('--font')
    };
    return this.inks;
  }
}
