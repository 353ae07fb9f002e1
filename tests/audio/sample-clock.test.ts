import { describe, expect, it } from 'vitest';
import { makeSampleClock } from '../../src/audio/sample-clock.ts';

const RATE = 48000;
const BLOCK = 1536;

describe('makeSampleClock', () => {
  it('follows the samples, not the arrival of messages', () => {
    const clock = makeSampleClock(RATE);
    const times = Array.from({ length: 100 }, (_, k) => {
      const late = k % 7 === 0 ? 180 : 0;
      const contextMs = k * 32 + 40 + late;
      return clock.timeOf(k * BLOCK, { pageMs: 1000 + contextMs, contextMs });
    });
    times.forEach(({ atMs, lostMs }, k) => {
      expect(atMs).toBeCloseTo(1000 + k * 32, 6);
      expect(lostMs).toBe(0);
    });
  });

  it('takes over lost time once, and says how much', () => {
    const clock = makeSampleClock(RATE);
    const lost: number[] = [];
    for (let k = 0; k < 60; k++) {
      const asleep = k >= 30 ? 5000 : 0;
      const contextMs = k * 32;
      const { atMs, lostMs } = clock.timeOf(k * BLOCK, { pageMs: contextMs + asleep, contextMs });
      if (lostMs > 0) lost.push(lostMs);
      if (k > 33) expect(atMs).toBeCloseTo(k * 32 + 5000, 6);
    }
    expect(lost).toEqual([5000]);
  });

  it('does not drift over an hour', () => {
    const clock = makeSampleClock(44100);
    const blocks = Math.round((3600 * 44100) / 1408);
    const at = blocks * 1408;
    clock.timeOf(0, { pageMs: 7, contextMs: 0 });
    expect(clock.timeOf(at, { pageMs: 3_600_007, contextMs: 3_600_000 }).atMs).toBeCloseTo(
      (at / 44100) * 1000 + 7,
      6,
    );
  });
});
