/** The sound control: owns the AudioContext, which a browser only lets start inside a tap. */
import type { SignalKind } from '../wire/types.gen';
import { loadSetting, saveSetting } from '../settings';
import { buildCue, type Cue } from './cue';
import type { Signal } from './signals';

/** `stopped`: wanted, and taken away by the device: a call, the lock screen, another app. */
export type SoundState = 'off' | 'on' | 'sounding' | 'stopped' | 'failed';

/** Seconds of buffer asked of the browser; the smallest it can keep without gaps is what it gives. */
const LATENCY_HINT_S = 0.001;
/** Beyond this the sound comes too late to change a backswing: wireless headphones, as a rule. */
export const LATE_MS = 60;
const DEFAULT_VOLUME = 0.8;
const LOG_LENGTH = 64;
/** A glance elsewhere of less than this is not worth telling. */
const SHORT_AWAY_S = 2;

export interface CueTrace {
  sounding: boolean;
  errorDeg: number;
  /** `performance.now()` as the cue was handed to the audio clock. */
  handedMs: number;
}

export class SoundEngine {
  state = $state<SoundState>('off');
  /** Device latency, or null while off. */
  latencyMs = $state<number | null>(null);
  volume = $state(DEFAULT_VOLUME);
  chimes = $state(loadSetting('chime') !== 'no');
  says = $state(loadSetting('say') === 'yes');
  /** The latest starts and stops, for tests and latency measurements. */
  readonly trace: CueTrace[] = [];

  private context: AudioContext | null = null;
  private cue: Cue | null = null;
  private wanted = false;
  private sounding = false;
  private muted = false;
  private hiddenMs: number | null = null;
  /** Called with the seconds that the page was out of sight with the sound on. */
  onback: (awayS: number) => void = () => {};

  constructor() {
    const stored = Number(loadSetting('volume') ?? DEFAULT_VOLUME);
    this.volume = Number.isFinite(stored) ? Math.min(Math.max(stored, 0), 1) : DEFAULT_VOLUME;
    document.addEventListener('visibilitychange', this.seen);
  }

  close(): void {
    document.removeEventListener('visibilitychange', this.seen);
    this.silence();
  }

  /** Called by the tap itself. */
  async toggle(): Promise<void> {
    if (this.wanted && this.context?.state === 'running') {
      this.turnOff();
      return;
    }
    this.wanted = true;
    try {
      this.context ??= this.open();
      await this.context.resume();
    } catch {
      this.wanted = false;
      this.state = 'failed';
      return;
    }
    this.cue?.blip(this.context.currentTime);
    this.refresh();
  }

  /** Called by a tap: the short sound that says that sound is on; it is turned on first if need be. */
  async test(): Promise<void> {
    const context = this.context;
    if (this.wanted && context?.state === 'running') this.cue?.blip(context.currentTime);
    else await this.toggle();
  }

  /** Whether the sound was asked for, with or without success. */
  get isWanted(): boolean {
    return this.wanted;
  }

  /** A locked screen or another tab may have stopped the sound: fetch it back, and say that it may have been missed. */
  private readonly seen = (): void => {
    if (document.visibilityState === 'hidden') {
      this.hiddenMs = performance.now();
      return;
    }
    const awayS = this.hiddenMs === null ? 0 : (performance.now() - this.hiddenMs) / 1000;
    this.hiddenMs = null;
    if (!this.wanted || !this.context) return;
    // Where the device wants a tap for it, the button goes on saying that the sound has stopped.
    void this.context.resume().catch(() => {}).then(() => this.refresh());
    if (awayS >= SHORT_AWAY_S) this.onback(awayS);
  };

  /** The cue as the server has it now. Called in the socket handler: nothing here may wait. */
  follow(said: boolean, errorDeg: number): void {
    const sounding = said && !this.muted;
    const context = this.context;
    if (sounding !== this.sounding) {
      this.sounding = sounding;
      this.trace.push({ sounding, errorDeg, handedMs: performance.now() });
      if (this.trace.length > LOG_LENGTH) this.trace.shift();
    }
    if (!context || !this.cue || !this.wanted) return;
    this.cue.follow(sounding, errorDeg, context.currentTime);
    const next = context.state !== 'running' ? 'stopped' : sounding ? 'sounding' : 'on';
    if (this.state !== next) this.state = next;
  }

  /** Nothing that is measured sounds: a recording stands still, or plays at another speed. */
  mute(on: boolean): void {
    if (on && !this.muted) this.silence();
    this.muted = on;
  }

  /** A short sound, once: near the edge of the band, or what the whole swing was. */
  short(kind: SignalKind): void {
    const context = this.context;
    if (this.muted || !context || !this.cue || !this.wanted || context.state !== 'running') return;
    if (kind === 'in_band') {
      if (this.chimes) this.cue.chime(context.currentTime);
    } else if (kind === 'edge') this.cue.tick(context.currentTime);
    else this.cue.end(kind, context.currentTime);
  }

  /** A rep that was cued is over: a chime when it was good, and its result in words, each if wanted. */
  tell(good: boolean, words: string): void {
    const context = this.context;
    if (this.muted || !context || !this.cue || !this.wanted || context.state !== 'running') return;
    if (good && this.chimes) this.cue.chime(context.currentTime);
    if (this.says) this.speak(words);
  }

  /** A signal of the set-up, for whoever cannot look. */
  signal(name: Signal): void {
    const context = this.context;
    if (context && this.wanted && context.state === 'running') this.cue?.signal(name, context.currentTime);
  }

  /** Say a line, if the sound is on and the device has a voice. */
  speak(words: string): void {
    if (!this.wanted || !('speechSynthesis' in window)) return;
    const speech = new SpeechSynthesisUtterance(words);
    speech.lang = 'en';
    speech.volume = this.volume;
    window.speechSynthesis.cancel(); // an older result is none of this rep's business
    window.speechSynthesis.speak(speech);
  }

  setChimes(wanted: boolean): void {
    this.chimes = wanted;
    saveSetting('chime', wanted ? 'yes' : 'no');
  }

  setSays(wanted: boolean): void {
    this.says = wanted;
    saveSetting('say', wanted ? 'yes' : 'no');
    if (!wanted) window.speechSynthesis?.cancel();
  }

  silence(): void {
    this.follow(false, 0);
  }

  setVolume(volume: number): void {
    this.volume = volume;
    saveSetting('volume', String(volume));
    if (this.context) this.cue?.setVolume(volume, this.context.currentTime);
  }

  /** Reads what changes slowly. */
  refresh(): void {
    const context = this.context;
    const running = this.wanted && context?.state === 'running';
    const next: SoundState = this.state === 'failed' ? 'failed' : !this.wanted ? 'off' : !running ? 'stopped' : this.sounding ? 'sounding' : 'on';
    if (running && this.state === 'failed') this.state = 'on';
    else if (this.state !== next) this.state = next;
    // `outputLatency` is missing in older browsers; then only the buffer is known.
    const latency = running && context ? Math.round((context.baseLatency + (context.outputLatency || 0)) * 1000) : null;
    if (latency !== this.latencyMs) this.latencyMs = latency;
  }

  private open(): AudioContext {
    // An iPhone takes the sound of a page for a ringing tone, which its ring switch silences, unless told otherwise.
    const session = (navigator as { audioSession?: { type: string } }).audioSession;
    if (session) session.type = 'playback';
    const context = new AudioContext({ latencyHint: LATENCY_HINT_S });
    this.cue = buildCue(context, this.volume);
    context.onstatechange = () => this.refresh(); // a phone call takes the sound away
    return context;
  }

  private turnOff(): void {
    this.wanted = false;
    const context = this.context;
    if (context) {
      this.cue?.follow(false, 0, context.currentTime);
      // Let the envelope close before the clock stops, else the tone resumes with a click.
      window.setTimeout(() => void (this.wanted || context.suspend()), 60);
    }
    this.refresh();
  }
}
