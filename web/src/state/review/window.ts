/** Which rows of a long list are drawn: those in sight and some beside them, so that ten thousand cost no more than thirty. */
export interface Shown {
  readonly first: number;
  /** One past the last. */
  readonly end: number;
}

/** A row and the piece of the document that shows it: when it goes out of sight, the piece is used again for another. */
export interface Slot {
  readonly key: number;
  readonly at: number;
}

const BESIDE = 6;

export function shownRows(count: number, scrolledPx: number, viewPx: number, rowPx: number): Shown {
  const first = Math.min(Math.max(0, Math.floor(scrolledPx / rowPx) - BESIDE), Math.max(0, count - 1));
  const end = Math.min(count, Math.ceil((scrolledPx + viewPx) / rowPx) + BESIDE);
  return { first, end: Math.max(end, first) };
}

/**
 * Rows in order, each with its piece. A row that was there keeps its piece; `held`, the one with the keyboard's focus, stays even
 * when it is out of sight.
 */
export function slotsOf(before: readonly Slot[], { first, end }: Shown, held: number | null): readonly Slot[] {
  const rows = Array.from({ length: end - first }, (_, i) => first + i);
  if (held !== null && held < first) rows.unshift(held);
  if (held !== null && held >= end) rows.push(held);
  const wanted = new Set(rows);
  const kept = new Map(before.filter((slot) => wanted.has(slot.at)).map((slot) => [slot.at, slot]));
  const taken = new Set([...kept.values()].map((slot) => slot.key));
  const free = before.flatMap((slot) => (taken.has(slot.key) ? [] : [slot.key]));
  for (let key = 0; free.length + taken.size < rows.length; key += 1) if (!taken.has(key) && !free.includes(key)) free.push(key);
  let next = 0;
  return rows.map((at) => kept.get(at) ?? { key: free[next++] ?? 0, at });
}
