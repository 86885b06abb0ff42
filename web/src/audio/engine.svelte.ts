/** The sound control: owns the AudioContext, which a browser only lets start inside a tap. */
import { loadSetting, saveSetting } from '../settings';
import { buildCue, type Cue } from './cue';

export type SoundState = 'off' | 'on' | 'sounding' | 'failed';

/** Seconds of buffer asked of the browser; the smallest it can keep without gaps is what it gives. */
const LATENCY_HINT_S = 0.001;
/** Beyond this the sound comes too late to change a backswing: wireless headphones, as a rule. */
export const LATE_MS = 60;
const DEFAULT_VOLUME = 0.8;
const LOG_LENGTH = 64;

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
  private screenLock: WakeLockSentinel | null = null;

  constructor() {
    const stored = Number(loadSetting('volume') ?? DEFAULT_VOLUME);
    this.volume = Number.isFinite(stored) ? Math.min(Math.max(stored, 0), 1) : DEFAULT_VOLUME;
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
    void this.keepScreenOn();
  }

  /** The cue as the server has it now. Called in the socket handler: nothing here may wait. */
  follow(sounding: boolean, errorDeg: number): void {
    const context = this.context;
    if (sounding !== this.sounding) {
      this.sounding = sounding;
      this.trace.push({ sounding, errorDeg, handedMs: performance.now() });
      if (this.trace.length > LOG_LENGTH) this.trace.shift();
    }
    if (!context || !this.cue || !this.wanted) return;
    this.cue.follow(sounding, errorDeg, context.currentTime);
    const next = sounding && context.state === 'running' ? 'sounding' : context.state === 'running' ? 'on' : 'off';
    if (this.state !== next) this.state = next;
  }

  /** A rep that was cued is over: a chime when it was good, and its result in words, each if wanted. */
  tell(good: boolean, words: string): void {
    const context = this.context;
    if (!context || !this.cue || !this.wanted || context.state !== 'running') return;
    if (good && this.chimes) this.cue.chime(context.currentTime);
    if (!this.says || !('speechSynthesis' in window)) return;
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
    const next: SoundState = this.state === 'failed' ? 'failed' : !running ? 'off' : this.sounding ? 'sounding' : 'on';
    if (running && this.state === 'failed') this.state = 'on';
    else if (this.state !== next) this.state = next;
    // `outputLatency` is missing in older browsers; then only the buffer is known.
    const latency = running && context ? Math.round((context.baseLatency + (context.outputLatency || 0)) * 1000) : null;
    if (latency !== this.latencyMs) this.latencyMs = latency;
  }

  private open(): AudioContext {
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
    void this.screenLock?.release();
    this.screenLock = null;
    this.refresh();
  }

  /** A phone on a stand should not go dark; only a secure page may ask, so failure is no news. */
  private async keepScreenOn(): Promise<void> {
    try {
      this.screenLock = (await navigator.wakeLock?.request('screen')) ?? null;
    } catch {
      this.screenLock = null;
    }
  }
}
