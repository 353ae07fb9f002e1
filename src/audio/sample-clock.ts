/**
 * Ties the sample count of an input to the page's monotonic clock (ms). The count is the clock; only where the
 * device lost time (asleep, suspended, unplugged) does it jump, and the jump is told.
 *
 * A block arrives later than its last sample, never earlier: the earliest arrival seen is the true relation,
 * and slower ones are queueing. A count that stays behind for `patienceMs` has lost samples.
 */
export interface SampleClock {
  /** Time of the block's first sample, ms; `lostMs` where time was lost before it. */
  timeOf(block: { firstSample: number; length: number }, arrivedMs: number): { atMs: number; lostMs: number };
}

const LOST_MS = 250;
const PATIENCE_BLOCKS = 8;

export function makeSampleClock(sampleRate: number): SampleClock {
  let offsetMs: number | null = null;
  let late: number[] = [];
  return {
    timeOf({ firstSample, length }, arrivedMs) {
      const endMs = ((firstSample + length) / sampleRate) * 1000;
      const startMs = (firstSample / sampleRate) * 1000;
      offsetMs ??= arrivedMs - endMs;
      const behindMs = arrivedMs - endMs - offsetMs;
      // A burst after a busy moment catches up within a few blocks; lost samples never come back.
      late = behindMs > LOST_MS ? [...late, behindMs].slice(-PATIENCE_BLOCKS) : [];
      let lostMs = 0;
      if (late.length === PATIENCE_BLOCKS) {
        lostMs = Math.min(...late);
        offsetMs += lostMs;
        late = [];
      }
      return { atMs: startMs + offsetMs, lostMs };
    },
  };
}
