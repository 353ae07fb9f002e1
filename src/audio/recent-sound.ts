import type { CaptureChunk } from './capture.ts';
import type { Sound } from './wav.ts';

/** Longer than recognition may lag behind (asr/client.ts). */
const LONGEST_MS = 130_000;

const endOf = ({ atMs, samples, sampleRate }: CaptureChunk): number =>
  atMs + (samples.length / sampleRate) * 1000;

/** The sound of the last two minutes, in memory, out of which utterances are cut once they are recognised. */
export class RecentSound {
  #chunks: CaptureChunk[] = [];

  push(chunk: CaptureChunk): void {
    this.#chunks.push(chunk);
    const fromMs = endOf(chunk) - LONGEST_MS;
    const first = this.#chunks.findIndex((one) => endOf(one) > fromMs);
    if (first > 0) this.#chunks.splice(0, first);
  }

  /** Where it begins, ms of the chunks' clock; Infinity where nothing is there. */
  get beginsMs(): number {
    return this.#chunks[0]?.atMs ?? Infinity;
  }

  /**
   * The samples from one moment to another (ms of the chunks' clock), at the rate of the device; where its rate
   * changed in between, from there on. Null where nothing of it is there.
   */
  cut(fromMs: number, toMs: number): Sound | null {
    const inside = this.#chunks.filter((chunk) => endOf(chunk) > fromMs && chunk.atMs < toMs);
    const sampleRate = inside.at(-1)?.sampleRate;
    if (sampleRate === undefined) return null;
    const same = inside.slice(inside.findLastIndex((chunk) => chunk.sampleRate !== sampleRate) + 1);
    const parts = same.map(({ atMs, samples }) => {
      const at = (ms: number) => Math.round(((ms - atMs) / 1000) * sampleRate);
      return samples.subarray(Math.max(0, at(fromMs)), Math.max(0, Math.min(samples.length, at(toMs))));
    });
    const samples = new Float32Array(parts.reduce((sum, { length }) => sum + length, 0));
    let written = 0;
    for (const part of parts) {
      samples.set(part, written);
      written += part.length;
    }
    return samples.length > 0 ? { sampleRate, samples } : null;
  }
}
