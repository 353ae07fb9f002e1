/**
 * The running clock and the wall clock part by more than this only where the device slept or its clock was set.
 * Project choice: far above what a time server corrects in the course (milliseconds).
 */
export const PARTED_MS = 5_000;

/** `byMs`: how much further the wall clock went than the running one; negative where it was set back. */
export interface Parting {
  sincePerformanceMs: number;
  byMs: number;
}

/**
 * Compares the two clocks each time it is asked. The browser's running clock stands still while a device sleeps
 * (on some systems), the wall clock goes on; a clock that is set shows the same. Which it was cannot be told.
 */
export class ClockCompare {
  #wallMs: number;
  #performanceMs: number;

  constructor(wallMs: number, performanceMs: number) {
    this.#wallMs = wallMs;
    this.#performanceMs = performanceMs;
  }

  /** How the clocks parted since the last comparison, or null where they agree. Told once: the next compares anew. */
  parted(wallMs: number, performanceMs: number): Parting | null {
    const byMs = wallMs - this.#wallMs - (performanceMs - this.#performanceMs);
    const sincePerformanceMs = this.#performanceMs;
    this.#wallMs = wallMs;
    this.#performanceMs = performanceMs;
    return Math.abs(byMs) >= PARTED_MS ? { sincePerformanceMs, byMs: Math.round(byMs) } : null;
  }
}
