/** Small choices kept in this browser. Storage may be forbidden or full: then they last as long as the page. */
const memory = new Map<string, string>();
const PREFIX = 'pitchbend.';

export type Setting = 'theme' | 'volume' | 'cautions-read' | 'chime' | 'say' | 'view' | 'club' | 'drill' | 'worn-seen' | 'swung-before' | 'guide-voice' | 'units' | 'retest-later' | 'arm-length' | 'club-lengths' | 'models' | 'answer-author';

export function loadSetting(name: Setting): string | null {
  try {
    return window.localStorage.getItem(PREFIX + name) ?? memory.get(name) ?? null;
  } catch {
    return memory.get(name) ?? null;
  }
}

export function saveSetting(name: Setting, value: string): void {
  memory.set(name, value);
  try {
    window.localStorage.setItem(PREFIX + name, value);
  } catch {
    // kept in memory above
  }
}

/** What is kept by name under one setting, as JSON; empty where it is nothing of the kind. */
export function loadByName<Kept>(name: Setting): Record<string, Kept> {
  try {
    const kept: unknown = JSON.parse(loadSetting(name) ?? '{}');
    return typeof kept === 'object' && kept !== null ? (kept as Record<string, Kept>) : {};
  } catch {
    return {};
  }
}
