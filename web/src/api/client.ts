/** The HTTP API, typed: see `docs/api.md`. What cannot be done is a `Problem`, whose `detail` is a sentence for the person. */
import { API_UNREACHABLE, API_UNREADABLE } from '../words/api';
import type * as T from './types.gen';

export type RepSort = 'number' | `${'' | '-'}${string}`;
export interface Paging {
  readonly limit?: number;
  readonly after?: string | null;
}
export interface RepQuery extends Paging {
  readonly drill?: string;
  readonly kind?: T.RepKind;
  readonly verdict?: T.Verdict;
  /** `number`, a figure of a rep, or `top.bend_change_deg`; `-` in front: the largest first. */
  readonly sort?: RepSort;
}

/** `unreachable`: nobody answered. `unreadable`: somebody did, but not our service. Else the service's own code. */
export type Code = T.ProblemCode | 'unreachable' | 'unreadable';

export class Problem extends Error {
  constructor(
    readonly code: Code,
    readonly detail: string,
    readonly status: number
  ) {
    super(detail);
  }
}

type Query = Readonly<Record<string, string | number | null | undefined>>;
const AGAIN_MS = 400;

/** A page on the computer itself is what its address says it is. */
function address(path: string, query: Query): string {
  const own = new URLSearchParams(window.location.search).get('as');
  const asked = new URLSearchParams();
  for (const [name, value] of Object.entries({ ...query, as: own })) if (value != null) asked.set(name, String(value));
  const text = asked.toString();
  return `api/${path}${text ? `?${text}` : ''}`;
}

async function answered(path: string, query: Query = {}, options: RequestInit = {}): Promise<Response> {
  let answer: Response;
  try {
    answer = await fetch(address(path, query), options);
  } catch (error) {
    if (options.signal?.aborted) throw error;
    throw new Problem('unreachable', API_UNREACHABLE, 0);
  }
  if (answer.ok) return answer;
  const told = answer.headers.get('content-type')?.startsWith('application/problem+json') ? ((await answer.json()) as T.ProblemDetails) : null;
  throw new Problem(told?.code ?? 'unreadable', told?.detail ?? API_UNREADABLE, answer.status);
}

async function got<Shape>(path: string, query: Query = {}, options: RequestInit = {}): Promise<Shape> {
  return (await (await answered(path, query, options)).json()) as Shape;
}

/** Everything on all pages of a list. */
export async function all<Item>(page: (after: string | null) => Promise<{ items: Item[]; next: string | null }>): Promise<Item[]> {
  const items: Item[] = [];
  let after: string | null = null;
  do {
    const one: { items: Item[]; next: string | null } = await page(after);
    items.push(...one.items);
    after = one.next;
  } while (after !== null);
  return items;
}

export const players = (paging: Paging = {}): Promise<T.PlayerPage> => got('players', { ...paging });
export const practices = (query: Paging & { readonly player?: string } = {}): Promise<T.PracticePage> => got('practices', { ...query });
export const practice = (key: string): Promise<T.PracticeWhole> => got(`practices/${key}`);
export const reps = (key: string, query: RepQuery = {}): Promise<T.RepPage> => got(`practices/${key}/reps`, { ...query });

/** One swing from instant to instant. The first of a practice may take a while: `onProgress` is told from 0 to 1. */
export async function trace(
  key: string,
  number: number,
  { onProgress, signal }: { onProgress?: (done: number) => void; signal?: AbortSignal } = {}
): Promise<T.Trace> {
  for (;;) {
    const answer = await answered(`practices/${key}/reps/${number}/trace`, {}, signal ? { signal } : {});
    if (answer.status !== 202) return (await answer.json()) as T.Trace;
    onProgress?.(((await answer.json()) as T.WorkingOut).done);
    await new Promise((resolve) => window.setTimeout(resolve, AGAIN_MS));
    signal?.throwIfAborted();
  }
}
