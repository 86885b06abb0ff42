/** What somebody who watches has marked and noted of a rep. */
import { remarkWords } from '../words/rep';
import type { LiveState } from './live.svelte';

export function remarkOf(live: LiveState, rep: number): string {
  const mark = live.hello?.marks?.find((one) => one.rep === rep)?.mark;
  const notes = (live.hello?.notes ?? []).filter((one) => one.rep === rep).map((one) => one.text);
  return remarkWords(mark, notes);
}
