/** The rep that a coach has chosen as the model, for a player or for all of them: kept in this browser, whatever practice it is of. */
import { loadByName, saveSetting } from '../../settings';

export interface ModelRep {
  readonly key: string;
  readonly number: number;
  /** Whose it is, and of which day; not kept by older pages. */
  readonly player?: string;
  readonly day?: string;
}

/** No player can be called so. */
const EVERYBODY = '\n';

function kept(name: string): ModelRep | null {
  const known = loadByName<ModelRep | undefined>('models')[name];
  return known && typeof known.key === 'string' && Number.isInteger(known.number) ? known : null;
}

/** A player's own goes before the one for all. */
export function loadModel(player: string): ModelRep | null {
  return kept(player) ?? kept(EVERYBODY);
}

/** One for all takes the place of this player's own; null takes away what there is for this player. */
export function saveModel(player: string, rep: ModelRep | null, forAll = false): void {
  const models = new Map(Object.entries(loadByName<ModelRep>('models')));
  if (rep === null) models.delete(models.has(player) ? player : EVERYBODY);
  else if (forAll) {
    models.delete(player);
    models.set(EVERYBODY, rep);
  } else models.set(player, rep);
  saveSetting('models', JSON.stringify(Object.fromEntries(models)));
}
