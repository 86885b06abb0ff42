/** What browser tests and latency measurements may look at. Reading it changes nothing. */
import type { CueTrace, SoundEngine } from './audio/engine.svelte';
import { buildCue, CEILING } from './audio/cue';
import { cueHz } from './audio/tone';
import type { LiveState, Status } from './state/live.svelte';
import { takenUp } from './state/taking_up';
import type { FrameMessage } from './wire/types.gen';

export interface Hooks {
  frame(): FrameMessage | null;
  counts(): { received: number; skipped: number; malformed: number; unknown: number; attempts: number };
  status(): Status;
  lastRep(): number | null;
  cueTrace(): readonly CueTrace[];
  latencyMs(): number | null;
  readonly buildCue: typeof buildCue;
  readonly cueHz: typeof cueHz;
  readonly ceiling: number;
  readonly takenUp: typeof takenUp;
}

declare global {
  interface Window {
    __pitchbend?: Hooks;
  }
}

export function exposeHooks(live: LiveState, sound: SoundEngine): void {
  window.__pitchbend = {
    frame: () => live.frame,
    counts: () => ({
      received: live.received,
      skipped: live.skipped,
      malformed: live.malformed,
      unknown: live.unknown,
      attempts: live.socket.attempts
    }),
    status: () => live.status,
    lastRep: () => live.lastRep?.index ?? null,
    cueTrace: () => sound.trace,
    latencyMs: () => sound.latencyMs,
    buildCue,
    cueHz,
    ceiling: CEILING,
    takenUp
  };
}
