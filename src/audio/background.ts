import { meanDb, powerDb } from './decibels.ts';
import data from './segmenter.json' with { type: 'json' };

const { background, rise } = data;
const LOWEST_DB = -100;

/** Energy of a frame, dB relative to full scale. */
export const frameDb = (frame: Float32Array): number => Math.max(LOWEST_DB, powerDb(frame));

/**
 * Tells near speech from talk in the background: the voice detector answers to both. Near is what stands out
 * over the quiet quarter of the last seconds: by little where the background is steady, by more where it is
 * unsteady as talk is. In a quiet room everybody is near.
 */
export class Background {
  #counts = new Uint16Array(-LOWEST_DB + 1);
  #bins: number[] = [];
  #recent: number[] = [];
  #nearSkipped = 0;

  /** Takes the next frame's level (32 ms); true where it is near enough. */
  isNear(levelDb: number): boolean {
    this.#recent = [...this.#recent, levelDb].slice(-background.smoothFrames);
    const smoothDb = meanDb(this.#recent);
    const near = this.#bins.length < background.leastFrames || smoothDb >= this.#thresholdDb();
    // Near frames count less, so that somebody who talks on for a while does not become the background.
    const known = this.#bins.length >= background.knownFrames;
    if (near && known && ++this.#nearSkipped < background.nearCountsOneIn) return near;
    this.#nearSkipped = 0;
    const bin = Math.min(-LOWEST_DB, Math.max(0, Math.round(levelDb - LOWEST_DB)));
    this.#bins.push(bin);
    this.#counts[bin] = this.#counts[bin]! + 1;
    if (this.#bins.length <= background.memoryFrames) return near;
    const oldest = this.#bins.shift()!;
    this.#counts[oldest] = this.#counts[oldest]! - 1;
    return near;
  }

  #thresholdDb(): number {
    const quiet = this.#percentileDb(background.percentile);
    const spread = this.#percentileDb(0.5) - quiet;
    return (
      quiet + Math.min(background.mostMarginDb, background.marginDb + background.marginPerSpread * spread)
    );
  }

  #percentileDb(share: number): number {
    let left = share * this.#bins.length;
    for (let bin = 0; bin < this.#counts.length; bin++) {
      left -= this.#counts[bin]!;
      if (left <= 0) return bin + LOWEST_DB;
    }
    return 0;
  }
}

/** How loud the sound between utterances has been lately: talk farther off, alarms, noise. */
export class IdleLevel {
  #recent: number[] = [];

  /** Takes the level of a frame outside any utterance. */
  add(levelDb: number): void {
    this.#recent.push(levelDb);
    if (this.#recent.length > rise.memoryFrames) this.#recent.shift();
  }

  /**
   * The level that two frames in a row seldom passed, dB; null before enough is known. The last frames are left
   * out: speech that is about to be noticed has begun in them.
   */
  loudDb(): number | null {
    const known = this.#recent.slice(0, -rise.leadFrames);
    if (known.length < rise.leastFrames) return null;
    const pairs = known.map((db, k) => meanDb([db, known[Math.max(0, k - 1)]!]));
    pairs.sort((a, b) => a - b);
    return pairs[Math.floor(pairs.length * rise.percentile)]!;
  }
}
