/** Keeps the screen of a phone on a stand from going dark, where the browser lets a page do that, and says where it does not. */

/** `not_secure`: the browser could, but only a page with https may ask. */
export type WakeState = 'off' | 'on' | 'not_secure' | 'no_way' | 'refused';

export class ScreenAwake {
  state = $state<WakeState>('off');

  private wanted = false;
  private lock: WakeLockSentinel | null = null;

  constructor() {
    document.addEventListener('visibilitychange', this.seen);
  }

  close(): void {
    document.removeEventListener('visibilitychange', this.seen);
    this.want(false);
  }

  want(wanted: boolean): void {
    if (wanted === this.wanted) return;
    this.wanted = wanted;
    if (wanted) void this.ask();
    else this.letGo();
  }

  /** A browser takes the lock away from a page that goes out of sight. */
  private readonly seen = (): void => {
    if (this.wanted && document.visibilityState === 'visible' && this.lock === null) void this.ask();
  };

  private async ask(): Promise<void> {
    if (!('wakeLock' in navigator)) {
      this.state = window.isSecureContext ? 'no_way' : 'not_secure';
      return;
    }
    try {
      const lock = await navigator.wakeLock.request('screen');
      lock.addEventListener('release', () => {
        if (this.lock !== lock) return;
        this.lock = null;
        this.state = 'off';
      });
      this.lock = lock;
      this.state = 'on';
      if (!this.wanted) this.letGo();
    } catch {
      this.state = 'refused'; // battery saving, as a rule
    }
  }

  private letGo(): void {
    const lock = this.lock;
    this.lock = null;
    this.state = 'off';
    void lock?.release();
  }
}
