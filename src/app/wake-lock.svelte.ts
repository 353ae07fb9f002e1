/**
 * Whether the screen stays on. `refused`: the browser said no, for instance on low battery; `unsupported`: it
 * cannot. In both cases the person is told to keep the device awake by its own settings.
 */
export type WakeState = 'off' | 'awake' | 'refused' | 'unsupported';

/** Keeps the screen on while listening. The browser lets go when the page is hidden; it is asked for again then. */
export class WakeLock {
  state: WakeState = $state('off');
  #wanted = false;
  #sentinel: WakeLockSentinel | null = null;
  readonly #again = () => {
    if (this.#wanted && document.visibilityState === 'visible') void this.#ask();
  };

  async hold(): Promise<void> {
    this.#wanted = true;
    document.addEventListener('visibilitychange', this.#again);
    await this.#ask();
  }

  async release(): Promise<void> {
    this.#wanted = false;
    document.removeEventListener('visibilitychange', this.#again);
    await this.#sentinel?.release();
    this.#sentinel = null;
    this.state = 'off';
  }

  async #ask(): Promise<void> {
    if (!('wakeLock' in navigator)) {
      this.state = 'unsupported';
      return;
    }
    try {
      const sentinel = await navigator.wakeLock.request('screen');
      if (!this.#wanted) return void sentinel.release();
      this.#sentinel = sentinel;
      this.state = 'awake';
      sentinel.addEventListener('release', () => {
        if (this.#wanted && this.#sentinel === sentinel) this.state = 'refused';
      });
    } catch {
      this.state = 'refused';
    }
  }
}
