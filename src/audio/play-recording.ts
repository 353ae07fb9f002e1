import { measureLevel, type Level } from './level.ts';
import type { Sound } from './wav.ts';

/**
 * Feeds a recording into the path that the microphone uses, for practice. `speed`: 1 is real time, 4 is four
 * times as fast. `startMs` is the clock's time of its first sample; the clock of the chunks always runs at the
 * recording's own pace. Blocks of 32 ms, as the microphone gives them.
 */
export interface PlayOptions {
  speed: number;
  startMs: number;
  onChunk: (chunk: { atMs: number; sampleRate: number; samples: Float32Array }) => void;
  onLevel?: (level: Level) => void;
  /** `playedMs` of the recording are through. */
  onProgress?: (playedMs: number) => void;
  onEnd?: () => void;
  /** A reading of a monotonic clock, ms. */
  now?: () => number;
}

const BLOCK_MS = 32;
const TICK_MS = 16;

export function playRecording({ sampleRate, samples }: Sound, options: PlayOptions): { stop(): void } {
  const now = options.now ?? (() => performance.now());
  const block = Math.round((sampleRate * BLOCK_MS) / 1000);
  const begunMs = now();
  let at = 0;
  const timer = setInterval(() => {
    const due = Math.min(samples.length, ((now() - begunMs) * options.speed * sampleRate) / 1000);
    while (at < samples.length && (at + block <= due || due >= samples.length)) {
      const part = samples.slice(at, at + block);
      options.onLevel?.(measureLevel(part));
      options.onChunk({ atMs: options.startMs + (at / sampleRate) * 1000, sampleRate, samples: part });
      at += part.length;
    }
    options.onProgress?.((at / sampleRate) * 1000);
    if (at < samples.length) return;
    clearInterval(timer);
    options.onEnd?.();
  }, TICK_MS);
  return { stop: () => clearInterval(timer) };
}
