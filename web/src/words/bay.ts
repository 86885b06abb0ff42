/** How a practice stands, in short. */
import type { BoardBay } from '../wire/types.gen';

export const BAY_WORDS: Readonly<Record<BoardBay['status'], string>> = { waiting: 'waiting for sensors', live: 'live', stale: 'no fresh data', ended: 'ended', away: 'away' };
