/** The HTTP API, typed: see `docs/api.md`. What cannot be done is a `Problem`. */
import { API_UNREACHABLE, API_UNREADABLE } from '../words/api';
import { Problem } from './problem';
import type * as T from './types.gen';

export interface Paging {
  readonly limit?: number;
  readonly after?: string | null;
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

/** What went wrong, for the person. */
export function reasonWords(error: unknown): string {
  return error instanceof Problem ? error.detail : API_UNREADABLE;
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
export const repColumns = (key: string, paging: Paging = {}): Promise<T.RepColumns> => got(`practices/${key}/rep-columns`, { ...paging });
export const oneRep = (key: string, number: number, signal: AbortSignal): Promise<T.RepView> => got(`practices/${key}/reps/${number}`, {}, { signal });

export const playersBest = (key: string, number: number): Promise<T.PlayersBest> => got(`practices/${key}/reps/${number}/best`);

export interface Patience {
  /** Told from 0 to 1, where an answer takes a while. */
  readonly onProgress?: (done: number) => void;
  readonly signal?: AbortSignal;
}

const json = (body: unknown, signal?: AbortSignal): RequestInit => ({
  method: 'POST',
  headers: { 'Content-Type': 'application/json' },
  body: JSON.stringify(body),
  ...(signal ? { signal } : {})
});
const pause = (): Promise<unknown> => new Promise((resolve) => window.setTimeout(resolve, AGAIN_MS));

/** Ask again and again until a practice's swings have been worked out, as they are once. */
async function patiently<Shape>(path: string, options: RequestInit, { onProgress, signal }: Patience): Promise<Shape> {
  for (;;) {
    const answer = await answered(path, {}, options);
    if (answer.status !== 202) return (await answer.json()) as Shape;
    onProgress?.(((await answer.json()) as T.WorkingOut).done);
    await pause();
    signal?.throwIfAborted();
  }
}

/** One swing from instant to instant. */
export const trace = (key: string, number: number, patience: Patience = {}): Promise<T.Trace> =>
  patiently(`practices/${key}/reps/${number}/trace`, patience.signal ? { signal: patience.signal } : {}, patience);

/** One instant of a swing with another bend or forearm roll. */
export const whatIf = (key: string, number: number, wondered: T.Wondered, patience: Patience = {}): Promise<T.WhatIf> =>
  patiently(`practices/${key}/reps/${number}/what-if`, json(wondered, patience.signal), patience);

export const addNote = (key: string, note: T.NewNote): Promise<T.NoteView> => got(`practices/${key}/notes`, {}, json(note));
export async function removeNote(key: string, number: number): Promise<void> {
  await answered(`practices/${key}/notes/${number}`, {}, { method: 'DELETE' });
}

/** What has become of a recording once it has been worked out; `refused` says why in `detail`. */
export async function sendRecording(file: File, { onProgress, signal }: Patience = {}): Promise<T.Incoming> {
  const body = { method: 'POST', body: file, headers: { 'Content-Type': 'application/octet-stream' }, ...(signal ? { signal } : {}) };
  let told = await got<T.Incoming>('recordings', { name: file.name }, body);
  while (told.outcome === null) {
    onProgress?.(told.done);
    await pause();
    signal?.throwIfAborted();
    told = await got<T.Incoming>(`recordings/${told.id}`);
  }
  return told;
}

export const answers = (key: string): Promise<T.AnswerPage> => got(`practices/${key}/answers`);

/** Make an answer: the file to send back, and what to call it. */
export async function makeAnswer(key: string, said: T.NewAnswer): Promise<{ file: Blob; name: string }> {
  const answer = await answered(`practices/${key}/answers`, {}, json(said));
  const name = /filename="([^"]+)"/.exec(answer.headers.get('content-disposition') ?? '')?.[1];
  return { file: await answer.blob(), name: name ?? 'answer.mcap' };
}

export const drills = (): Promise<T.DrillPage> => got('drills');
export const readDrill = (text: string): Promise<T.ReadDrill> => got('drills/read', {}, json({ text }));
export const keepDrill = (text: string): Promise<T.DrillView> => got('drills', {}, json({ text }));

const playerPath = (name: string, what: string): string => `players/${encodeURIComponent(name)}/${what}`;
export const progress = (player: string): Promise<T.ProgressView> => got(playerPath(player, 'progress'));
export const retests = (player: string): Promise<T.RetestList> => got(playerPath(player, 'retests'));
