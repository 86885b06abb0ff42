/**
 * One student as the coach sees him enlarged: the practice, and its swings as lines.
 *
 * Rule: whatever is of one student lives in one of these. Another student is another `BayState`, and the old one is closed.
 */
import type { SoundEngine } from '../audio/engine.svelte';
import type { ClientMessage, ServerMessage } from '../wire/decode';
import type * as T from '../wire/types.gen';
import { LiveState } from './live.svelte';
import { Swings } from './swing';

export class BayState {
  readonly live: LiveState;
  readonly swings = new Swings();
  /** Another student's data came: nothing of it is shown. */
  wrong = $state(false);
  readonly holder = $derived.by(() => this.live.hello?.control ?? 'student');
  readonly marks = $derived.by(() => new Map((this.live.hello?.marks ?? []).map((one) => [one.rep, one.mark])));
  readonly notes = $derived.by(() => this.live.hello?.notes ?? []);
  readonly said = $derived.by(() => this.live.hello?.said ?? []);

  constructor(
    readonly id: string,
    sound: SoundEngine
  ) {
    this.live = new LiveState(sound, { bay: id, as: 'coach' }, (message) => this.onMessage(message));
  }

  close(): void {
    this.live.close();
  }

  /** False when the server is away: nothing was asked for. */
  ask(message: ClientMessage): boolean {
    return this.live.socket.send(message);
  }

  private onMessage(message: ServerMessage): void {
    switch (message.type) {
      case 'frame':
        return this.swings.onFrame(message);
      case 'phase':
        return this.swings.onPhase(message.phase, message.t_s);
      case 'rep':
        return this.swings.onRep(message);
      case 'end':
        return message.again ? this.swings.clear() : this.swings.restart();
      case 'hello':
        return this.onHello(message);
    }
  }

  private onHello(hello: T.HelloMessage): void {
    this.wrong = hello.bay != null && hello.bay.id !== this.id;
    // Reps that count from the start again belong to another run of the practice.
    // Wound to another place, the swing under way is another one.
    if (hello.replay != null) this.swings.restart();
    if ((hello.reps.at(-1)?.index ?? 0) < (this.swings.reps.at(-1)?.rep ?? 0)) this.swings.clear();
  }
}
