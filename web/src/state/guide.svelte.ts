/**
 * Leads through fit moves by ear: says the next one, gives time to take it up, begins it, tells how it went, goes on.
 *
 * Rule 1: one tap starts it; after that the hands are free. A tap on "now" or "again" is for whoever stands at the phone.
 * Rule 2: nothing is judged here: the server says when a move is taken, and why not.
 */
import type { SoundEngine } from '../audio/engine.svelte';
import { FIT_STEPS } from '../words/fit';
import type { Move } from '../wire/types.gen';
import type { LiveState } from './live.svelte';

export type GuideState = 'waiting' | 'lead' | 'taking' | 'over';

/**
 * Seconds to take a move up in: the first time its whole instruction is said, later its name. What is held must not begin
 * before it is taken up, or the pose before it is taken for it; what turns may be begun late.
 */
const FIRST_S = 8;
const LATER_HELD_S = 3;
const LATER_MOVING_S = 1.5;
/** More for laying the club aside, and for taking it up again: a motion must not begin while it is being picked up. */
const ASIDE_S = 1;
const TAKE_UP_HELD_S = 1;
const TAKE_UP_MOVING_S = 2.5;
const AGAIN_S = 6;
const TICK_MS = 100;
/** A server that does not even say that it begins has not heard. */
const UNHEARD_MS = 3_000;

export class Guide {
  state = $state<GuideState>('waiting');
  move = $state<Move | null>(null);
  /** Whole seconds until the move begins. */
  leftS = $state(0);
  advice = $state('');
  speaks = $state(true);

  private beginMs = 0;
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
    this.move = move;
    if (move === null) {
      this.state = 'over';
      this.onover();
      return;
    }
    this.state = 'lead';
    this.beginMs = performance.now() + 1000 * leadS;
    this.leftS = Math.ceil(leadS);
    const step = FIT_STEPS[move];
    this.say(this.quick && !this.advice ? step.title : `${step.title}. ${step.how}`);
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
      const left = Math.max(0, Math.ceil((this.beginMs - now) / 1000));
      if (left !== this.leftS) this.leftS = left;
      if (now >= this.beginMs && this.live.status === 'live') this.begin();
    } else if (this.state === 'taking') this.judge(now);
    else if (this.state === 'over' && this.due() !== null) this.next(AGAIN_S);
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
    if (!plain) this.say(news.advice);
    const next = this.due();
    this.next(taken ? this.leadOf(next) : AGAIN_S);
  }

  private say(words: string): void {
    if (this.speaks) this.sound.speak(words);
  }
}
