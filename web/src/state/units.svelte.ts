/** Which units lengths are shown in. Without a choice of the user's the browser's locale decides. */
import { loadSetting, saveSetting } from '../settings';

export type Units = 'metric' | 'imperial';

/** Where people measure in inches, by Unicode's CLDR (measurementData); a language without a region stands for its likeliest. */
const IN_INCHES = new Set(['US', 'LR', 'MM']);

function ofLocale(tag: string): Units {
  try {
    return IN_INCHES.has(new Intl.Locale(tag).maximize().region ?? '') ? 'imperial' : 'metric';
  } catch {
    return 'metric';
  }
}

class UnitChoice {
  now = $state<Units>('metric');

  constructor() {
    const chosen = loadSetting('units');
    this.now = chosen === 'metric' || chosen === 'imperial' ? chosen : ofLocale(navigator.language);
  }

  choose(units: Units): void {
    this.now = units;
    saveSetting('units', units);
  }
}

export const units = new UnitChoice();
