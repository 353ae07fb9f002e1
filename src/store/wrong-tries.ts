const FREE_TRIES = 3;
const FIRST_WAIT_MS = 1_000;
/** A person who mistypes must never be kept from a record for longer. */
export const LONGEST_WAIT_MS = 30_000;

/** How long to wait after so many wrong tries in a row: nothing at first, then doubled, never more than 30 s. */
export const waitAfterMs = (wrong: number): number =>
  wrong < FREE_TRIES ? 0 : Math.min(FIRST_WAIT_MS * 2 ** (wrong - FREE_TRIES), LONGEST_WAIT_MS);

/**
 * Counts wrong passphrases in a row, for each locked thing. It slows down somebody at the screen; whoever copies the
 * files meets the slow derivation (keyring.ts) instead.
 */
export class WrongTries {
  readonly #tries = new Map<string, { wrong: number; untilMs: number }>();

  /** Milliseconds until the next try is taken; 0 for now. */
  waitMs(id: string, nowMs: number): number {
    return Math.max(0, (this.#tries.get(id)?.untilMs ?? 0) - nowMs);
  }

  wrong(id: string, nowMs: number): void {
    const wrong = (this.#tries.get(id)?.wrong ?? 0) + 1;
    this.#tries.set(id, { wrong, untilMs: nowMs + waitAfterMs(wrong) });
  }

  right(id: string): void {
    this.#tries.delete(id);
  }
}
