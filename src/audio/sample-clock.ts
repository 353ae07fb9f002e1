/**
 * Ties the sample count of an input to the page's monotonic clock. The count is the clock: within a stretch of
 * sound nothing else moves the times. Only where the device lost time (asleep, suspended, starved) does the
 * count fall behind; the jump is then taken over, and told.
 */
export interface SampleClock {
  /**
   * Time of a block's first sample, ms. `now` are both clocks at one moment: the page's, and the audio
   * context's position. `lostMs` is 0, or how much time has no sound before this block.
   */
  timeOf(firstSample: number, now: { pageMs: number; contextMs: number }): { atMs: number; lostMs: number };
}

/** Positions come in steps of a few blocks; a difference beyond this is lost time. */
const LOST_MS = 250;
/** So many blocks in a row must agree: a starved audio thread can catch up. */
const AGREEING_BLOCKS = 3;

export function makeSampleClock(sampleRate: number): SampleClock {
  let offsetMs: number | null = null;
  let differences: number[] = [];
  return {
    timeOf(firstSample, { pageMs, contextMs }) {
      offsetMs ??= pageMs - contextMs;
      const difference = pageMs - contextMs - offsetMs;
      differences = Math.abs(difference) > LOST_MS ? [...differences, difference] : [];
      let lostMs = 0;
      if (differences.length >= AGREEING_BLOCKS) {
        offsetMs += difference;
        lostMs = Math.max(0, difference);
        differences = [];
      }
      return { atMs: (firstSample / sampleRate) * 1000 + offsetMs, lostMs };
    },
  };
}
