/** What the service worker says (service-worker.ts). */
type Message =
  | { kind: 'offline-state'; updateReady: boolean; keptBytes: number; totalBytes: number }
  | { kind: 'not-kept'; path: string; why: string }
  | { kind: 'update-refused' }
  | { kind: 'update-applied' };

/**
 * `unsupported`: this browser or this way of serving keeps no app; it needs the server each time.
 * `keeping`: parts are still being fetched. `ready`: starts without a network, speech included.
 * `failed`: something could not be kept, and why.
 */
export type OfflineState =
  | { kind: 'unknown' }
  | { kind: 'unsupported' }
  | { kind: 'keeping'; keptBytes: number; totalBytes: number }
  | { kind: 'ready' }
  | { kind: 'failed'; why: string };

const CONTROL_WAIT_MS = 4_000;

/** Keeping the app on the device, and its updates. One for the page: `offline`. */
class Offline {
  state: OfflineState = $state.raw({ kind: 'unknown' });
  /** A new version is here and waits for a person. */
  updateReady = $state(false);
  /** The update was asked for while a record runs in some window; nothing was changed. */
  updateRefused = $state(false);
  #registration: ServiceWorkerRegistration | null = null;
  #started: Promise<void> | undefined;

  /**
   * Resolves when the service worker serves this page, or when there is none to wait for: a model that is
   * fetched after that is kept as it comes, and need not be fetched twice. May be called again to wait.
   */
  start(): Promise<void> {
    this.#started ??= this.#start();
    return this.#started;
  }

  async #start(): Promise<void> {
    const container = navigator.serviceWorker as ServiceWorkerContainer | undefined;
    if (!container || !import.meta.env.PROD) {
      this.state = { kind: 'unsupported' };
      return;
    }
    container.addEventListener('message', (event: MessageEvent<Message>) => this.#hear(event.data));
    const controlled = new Promise<void>((resolve) => {
      if (container.controller) return resolve();
      container.addEventListener('controllerchange', () => resolve(), { once: true });
      setTimeout(resolve, CONTROL_WAIT_MS);
    });
    try {
      this.#registration = await container.register('./service-worker.js');
    } catch (error) {
      if (container.controller) this.#post('state');
      else this.state = { kind: 'failed', why: String(error) };
      return;
    }
    await controlled;
    this.#post('state');
  }

  /** Fetches all that is not yet kept (the speech model), so that the next start needs no network. */
  keepAll(): void {
    this.#post('keep-all');
  }

  /** Looks for a new version now; it is only fetched and shown, never put in place. */
  async checkForUpdate(): Promise<void> {
    await this.#registration?.update();
    this.#post('state');
  }

  /** Puts the new version in place and reloads, unless a record runs in any window. */
  applyUpdate(): void {
    this.updateRefused = false;
    this.#post('apply-update');
  }

  #post(kind: string): void {
    const target = navigator.serviceWorker.controller ?? this.#registration?.active;
    target?.postMessage({ kind });
  }

  #hear(message: Message): void {
    if (message.kind === 'offline-state') {
      const { updateReady, keptBytes, totalBytes } = message;
      this.updateReady = updateReady;
      this.state = keptBytes < totalBytes ? { kind: 'keeping', keptBytes, totalBytes } : { kind: 'ready' };
    } else if (message.kind === 'not-kept') this.state = { kind: 'failed', why: message.why };
    else if (message.kind === 'update-refused') this.updateRefused = true;
    else if (message.kind === 'update-applied') location.reload();
  }
}

export const offline = new Offline();
