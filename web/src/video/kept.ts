/** Clips that were chosen for reps, kept by this browser on this device and nowhere else. */
import { createStore, del, get, set } from 'idb-keyval';

export interface KeptClip {
  readonly file: File;
  /** Time in the clip less time since takeaway; null while nobody has said. */
  readonly offsetS: number | null;
}

const clips = createStore('pitchbend-clips', 'clips');

export const clipKey = (practice: string, rep: number): string => `${practice}/${rep}`;
export const keptClip = (key: string): Promise<KeptClip | undefined> => get<KeptClip>(key, clips);
export const keepClip = (key: string, clip: KeptClip): Promise<void> => set(key, clip, clips);
export const dropClip = (key: string): Promise<void> => del(key, clips);
