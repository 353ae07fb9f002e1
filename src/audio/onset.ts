import { meanDb, powerDb } from './decibels.ts';
import data from './segmenter.json' with { type: 'json' };
import { samplesIn } from './resample.ts';

const { rise } = data;
const BLOCK = samplesIn(data.onset.blockMs);
const blocksIn = (ms: number): number => Math.round(ms / data.onset.blockMs);

/** Energy of each block of 8 ms, dB relative to full scale. */
function blockLevels(samples: Float32Array): number[] {
  return Array.from({ length: Math.floor(samples.length / BLOCK) }, (_, block) =>
    powerDb(samples.subarray(block * BLOCK, (block + 1) * BLOCK)),
  );
}

/**
 * Where the speech begins and ends within a clip, as sample numbers of the clip.
 * The voice detector answers in steps of 32 ms and late; energy is exact but knows no voices. So: between
 * `from` and `to`, where the detector heard speech, widen and narrow to where the energy rises over the noise
 * around, and never wander further than `lookBackMs`. In noise that hides the edges the detector's stay.
 */
export function speechEdges(samples: Float32Array, from: number, to: number): { from: number; to: number } {
  const levels = blockLevels(samples);
  if (levels.length === 0) return { from, to };
  const [first, last] = [Math.floor(from / BLOCK), Math.min(levels.length - 1, Math.floor((to - 1) / BLOCK))];
  const peak = Math.max(...levels.slice(first, last + 1));
  const quiet = [...levels].sort((a, b) => a - b);
  const floor = quiet[Math.floor(quiet.length * data.onset.floorPercentile)]!;
  const threshold = Math.max(floor + data.onset.aboveFloorDb, peak - data.onset.belowPeakDb);
  if (threshold > peak - data.onset.leastContrastDb) return { from, to };

  const loud = (block: number): boolean => (levels[block] ?? -Infinity) >= threshold;
  const ahead = Math.min(last, first + blocksIn(data.onset.lookAheadMs));
  const bridge = blocksIn(data.onset.bridgeMs);
  const begin = walk(loud, ahead, -1, Math.max(0, first - blocksIn(data.onset.lookBackMs)), bridge);
  const behind = Math.max(first, last - blocksIn(data.onset.lookAheadMs));
  const farthest = Math.min(levels.length - 1, last + blocksIn(data.onset.lookBackMs));
  const end = walk(loud, behind, 1, farthest, bridge);
  return {
    from: begin === null ? from : begin * BLOCK,
    to: end === null ? to : Math.min(samples.length, (end + 1) * BLOCK),
  };
}

/** The furthest loud block from `start` in the direction, over gaps of at most `bridge` blocks; null without any. */
function walk(
  loud: (block: number) => boolean,
  start: number,
  step: 1 | -1,
  limit: number,
  bridge: number,
): number | null {
  let reached: number | null = null;
  let gap = 0;
  for (let block = start; step * (limit - block) >= 0; block += step) {
    if (loud(block)) [reached, gap] = [block, 0];
    else if (reached !== null && ++gap > bridge) break;
  }
  return reached;
}

/**
 * Where, between `from` and `to`, speech rises out of what had been heard in the background (`backgroundDb`, see
 * IdleLevel): the detector answers to talk farther off and opens early. `from` where the sound is louder at once,
 * or never.
 */
export function riseOver(samples: Float32Array, from: number, to: number, backgroundDb: number): number {
  const levels = blockLevels(samples);
  const [first, last] = [Math.floor(from / BLOCK), Math.min(levels.length - 1, Math.floor((to - 1) / BLOCK))];
  const smooth = levels.map((_, block) => meanDb(levels.slice(block, block + blocksIn(rise.smoothMs))));
  const loudest = Math.max(...smooth.slice(first, last + 1));
  // What hardly stands out is measured against itself.
  const threshold = Math.min(backgroundDb + rise.marginDb, loudest - rise.belowLoudestDb);
  const above = (block: number): boolean => smooth[block]! >= threshold;
  for (let block = first, steady = 0; block <= last; block++) {
    steady = above(block) ? steady + 1 : 0;
    if (steady < blocksIn(rise.steadyMs)) continue;
    const risen = block - steady + 1;
    if (risen === first) return from;
    const limit = Math.max(first, risen - blocksIn(rise.lookBackMs));
    const loud = (at: number): boolean => levels[at]! >= threshold - rise.dropDb;
    return (walk(loud, risen, -1, limit, blocksIn(rise.bridgeMs)) ?? risen) * BLOCK;
  }
  return from;
}

/** The middle of the quietest stretch of `windowMs` within samples [from, to), as a sample number. */
export function quietestPoint(samples: Float32Array, from: number, to: number, windowMs: number): number {
  const size = samplesIn(windowMs);
  const energy = (at: number): number => {
    let sum = 0;
    for (let k = at; k < at + size; k++) sum += samples[k]! * samples[k]!;
    return sum;
  };
  let best = from;
  let least = Infinity;
  for (let at = from; at + size <= to; at += BLOCK) {
    const sum = energy(at);
    if (sum < least) [least, best] = [sum, at];
  }
  return best + Math.floor(size / 2);
}
