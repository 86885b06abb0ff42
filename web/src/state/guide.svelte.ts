/**
 * Leads through fit moves by ear: says the next one, gives time to take it up, begins it, tells how it went, goes on.
 *
 * Rule 1: one tap starts it; after that the hands are free. A tap on "now" or "again" is for whoever stands at the phone.
 * Rule 2: nothing is judged here: the server says when a move is taken, and why not.
 */
import type { SoundEngine } from '../audio/engine.svelte';
import { FIT_STEPS, NEXT_SIDE } from '../words/fit';
import type { Move } from '../wire/types.gen';
import type { LiveState } from './live.svelte';
import { HEARS_MS, MOVES_S, stillS, takenUp } from './taking_up';

export type GuideState = 'waiting' | 'lead' | 'taking' | 'over';

/**
 * Seconds to take a move up in, where the sensors do not show sooner that it is: the first time its whole instruction is said,
 * later its name. What turns may be begun late.
 */
const FIRST_S = 8;
const LATER_HELD_S = 3;
const LATER_MOVING_S = 1.5;
/** More for laying the club aside, and for taking it up again: a motion must not begin while it is being picked up. */
const ASIDE_S = 1;
const TAKE_UP_HELD_S = 1;
const TAKE_UP_MOVING_S = 2.5;
const AGAIN_S = 6;
/** A word is heard before it is acted on... */
const SOONEST_S = 1.5;
/** ... and a sentence is heard out: as fast as people read aloud, from memory. */
const LETTERS_A_S = 14;
/** Who takes long is told once more what the move is. */
const REMIND_MS = 12_000;
const TICK_MS = 100;
/** A server that does not even say that it begins has not heard. */
const UNHEARD_MS = 3_000;

export class Guide {
  state = $state<GuideState>('waiting');
  move = $state<Move | null>(null);
  /** Whole seconds until the move begins at the latest, if the golfer is still by then. */
  leftS = $state(0);
  /** The time is over, and the golfer is not still yet. */
  waits = $state(false);
  advice = $state('');
  speaks = $state(true);

  private toldMs = 0;
  private remindedMs = 0;
  private soonestMs = 0;
  private latestMs = 0;
  private after: Move | null = null;
  private moved = false;
  private askedMs = 0;
  private news: unknown = null;
  private readonly ticker: number;

  /** `due` names the next move, null when none is left. */
  constructor(
    private readonly live: LiveState,
    private readonly sound: SoundEngine,
    private readonly due: () => Move | null,
    private readonly quick: boolean,
    private readonly ontaken: (move: Move) => void = () => {},
    private readonly onover: () => void = () => {}
  ) {
    this.ticker = window.setInterval(() => this.tick(), TICK_MS);
  }

  close(): void {
    window.clearInterval(this.ticker);
  }

  start(): void {
    this.next(this.leadOf(this.due()));
  }

  now(): void {
    if (this.state === 'lead') this.begin();
  }

  private leadOf(move: Move | null): number {
    if (move === null) return 0;
    const lead = !this.quick ? FIRST_S : FIT_STEPS[move].held ? LATER_HELD_S : LATER_MOVING_S;
    if (move === 'palm') return lead + ASIDE_S;
    if (this.move !== 'palm') return lead;
    return lead + (FIT_STEPS[move].held ? TAKE_UP_HELD_S : TAKE_UP_MOVING_S);
  }

  private next(leadS: number): void {
    const move = this.due();
    this.after = this.state === 'taking' && !this.advice ? this.move : null;
    const same = move === this.after;
    this.move = move;
    if (move === null) {
      this.state = 'over';
      this.onover();
      return;
    }
    const step = FIT_STEPS[move];
    // One line: a second one would cut the first off. Why a move was refused is told with how it is made.
    const words = this.advice
      ? `${this.advice} ${step.title}.`
      : same && move === 'attitude'
        ? NEXT_SIDE
        : this.quick
          ? step.title
          : `${step.title}. ${step.how}`;
    const heardS = words.length / LETTERS_A_S;
    const byS = this.advice ? Math.max(leadS, heardS) : leadS;
    this.state = 'lead';
    this.toldMs = this.remindedMs = performance.now();
    // Whoever has laid the sensors down already need not be told how.
    this.soonestMs = 1000 * Math.max(SOONEST_S, move === 'still' ? 0 : Math.min(byS, heardS));
    this.latestMs = 1000 * byS;
    this.leftS = Math.ceil(byS);
    this.moved = this.waits = false;
    this.say(words);
  }

  private begin(): void {
    if (this.move === null) return;
    this.news = this.live.fitNews;
    if (!this.live.beginMove(this.move)) return;
    this.news = null;
    this.askedMs = performance.now();
    this.state = 'taking';
    this.sound.signal(FIT_STEPS[this.move].held ? 'hold' : 'begin');
  }

  private tick(): void {
    const now = performance.now();
    if (this.state === 'lead') {
      const sinceMs = now - this.toldMs;
      const left = Math.max(0, Math.ceil((this.latestMs - sinceMs) / 1000));
      if (left !== this.leftS) this.leftS = left;
      if (this.live.status === 'live') this.lookForPose(now, sinceMs);
    } else if (this.state === 'taking') this.judge(now);
    else if (this.state === 'over' && this.due() !== null) this.next(Math.max(AGAIN_S, this.leadOf(this.due())));
  }

  private lookForPose(now: number, sinceMs: number): void {
    const { move, after, soonestMs, latestMs } = this;
    if (move === null) return;
    const standing = this.live.frame?.standing ?? null;
    if (standing !== null && sinceMs > HEARS_MS && stillS(move, standing) < MOVES_S) this.moved = true;
    if (takenUp({ move, after, sinceMs, soonestMs, latestMs, moved: this.moved }, standing)) return this.begin();
    this.waits = sinceMs > latestMs;
    if (this.waits && now - this.remindedMs > REMIND_MS) {
      this.remindedMs = now;
      this.say(FIT_STEPS[move].how);
    }
  }

  private judge(now: number): void {
    const news = this.live.fitNews;
    if (news === null && now - this.askedMs > UNHEARD_MS) return this.next(AGAIN_S);
    if (news === null || news === this.news || news.move !== this.move || news.state === 'collecting') return;
    this.news = news;
    const taken = news.state === 'taken';
    const plain = taken && news.reason === 'none';
    this.advice = plain ? '' : news.advice;
    this.sound.signal(taken ? 'taken' : 'again');
    if (taken) this.ontaken(news.move);
    const next = this.due();
    if (next === null && !plain) this.say(news.advice);
    this.next(taken ? this.leadOf(next) : AGAIN_S);
  }

  private say(words: string): void {
    if (this.speaks) this.sound.speak(words);
  }
}
