/** Text from the board's socket -> a board that can be trusted, or why not. Never throws. */
import { fault, type Definitions } from './check';
import definitions from './schema.gen.json';
import type { BoardMessage } from './types.gen';

export type BoardSaid = { kind: 'board'; board: BoardMessage } | { kind: 'pong'; token: number } | { kind: 'other' };

export function decodeBoard(data: unknown): BoardSaid {
  let value: unknown;
  try {
    value = JSON.parse(String(data));
  } catch {
    return { kind: 'other' };
  }
  const said = value as { type?: unknown; token?: unknown } | null;
  if (said?.type === 'pong' && typeof said.token === 'number') return { kind: 'pong', token: said.token };
  const wrong = fault(value, definitions.BoardMessage, definitions as Definitions);
  return wrong === null ? { kind: 'board', board: value as BoardMessage } : { kind: 'other' };
}
