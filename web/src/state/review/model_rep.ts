/** The rep that a coach has chosen as the model for a player: kept in this browser, whatever practice it is of. */
import { loadSetting, saveSetting } from '../../settings';

export interface ModelRep {
  readonly key: string;
  readonly number: number;
}

export function loadModel(player: string): ModelRep | null {
  const known = all()[player];
  return known && typeof known.key === 'string' && Number.isInteger(known.number) ? { key: known.key, number: known.number } : null;
}

export function saveModel(player: string, rep: ModelRep): void {
  saveSetting('models', JSON.stringify({ ...all(), [player]: rep }));
}

function all(): Record<string, ModelRep | undefined> {
  try {
    const kept: unknown = JSON.parse(loadSetting('models') ?? '{}');
    return typeof kept === 'object' && kept !== null ? (kept as Record<string, ModelRep>) : {};
  } catch {
    return {};
  }
}
