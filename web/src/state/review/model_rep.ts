/** The rep that a coach has chosen as the model for a player: kept in this browser, whatever practice it is of. */
import { loadByName, saveSetting } from '../../settings';

export interface ModelRep {
  readonly key: string;
  readonly number: number;
}

export function loadModel(player: string): ModelRep | null {
  const known = loadByName<ModelRep | undefined>('models')[player];
  return known && typeof known.key === 'string' && Number.isInteger(known.number) ? { key: known.key, number: known.number } : null;
}

export function saveModel(player: string, rep: ModelRep): void {
  saveSetting('models', JSON.stringify({ ...loadByName<ModelRep>('models'), [player]: rep }));
}
