/** Which rows of a long list are drawn: those in sight and some beside them, so that ten thousand cost no more than fifty. */
export interface Shown {
  readonly first: number;
  /** One past the last. */
  readonly end: number;
}

const BESIDE = 12;

export function shownRows(count: number, scrolledPx: number, viewPx: number, rowPx: number): Shown {
  const first = Math.min(Math.max(0, Math.floor(scrolledPx / rowPx) - BESIDE), Math.max(0, count - 1));
  const end = Math.min(count, Math.ceil((scrolledPx + viewPx) / rowPx) + BESIDE);
  return { first, end: Math.max(end, first) };
}
