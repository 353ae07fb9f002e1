import data from './levels.json' with { type: 'json' };

/** Loudness of a stretch of sound. dBFS: 0 is the loudest that the device can give. */
export interface Level {
  rmsDb: number;
  peakDb: number;
  /** Share of samples at the limit, 0…1. */
  clipped: number;
}

const SILENT_DB = data.silentDb;
const decibels = (amplitude: number): number =>
  Math.max(SILENT_DB, 20 * Math.log10(Math.max(amplitude, 1e-9)));

export function measureLevel(samples: Float32Array): Level {
  let [sum, peak, clipped] = [0, 0, 0];
  for (const value of samples) {
    const size = Math.abs(value);
    sum += value * value;
    if (size > peak) peak = size;
    if (size >= data.clippedAt) clipped++;
  }
  const count = Math.max(1, samples.length);
  return { rmsDb: decibels(Math.sqrt(sum / count)), peakDb: decibels(peak), clipped: clipped / count };
}

/** The recent past of the input, for the meter and the warnings. */
export interface SignalSummary {
  /** The quiet end and the loud end of the last seconds, dBFS. */
  noiseFloorDb: number;
  speechDb: number;
  /** Share of samples at the limit while somebody spoke, 0…1. */
  clipped: number;
  /** ms since the voice detector last heard somebody. */
  sinceSpeechMs: number;
  /** ms for which the input has given nothing but zeros. */
  zerosMs: number;
}

/** What a person can do something about, the most urgent first; thresholds in levels.json. */
export type SignalState = 'good' | 'no-signal' | 'too-loud' | 'too-noisy' | 'silent-long';

export function signalState(summary: SignalSummary): SignalState {
  const { noSignal, tooLoud, tooNoisy, silentLong } = data.states;
  if (summary.zerosMs >= noSignal.afterMs) return 'no-signal';
  if (summary.clipped >= tooLoud.clippedShare) return 'too-loud';
  const ratioDb = summary.speechDb - summary.noiseFloorDb;
  const spokeLately = summary.sinceSpeechMs < tooNoisy.judgedWithinMs;
  const loudNoise = summary.noiseFloorDb >= tooNoisy.noiseFloorDb;
  if (loudNoise || (spokeLately && ratioDb < tooNoisy.speechToNoiseDb)) return 'too-noisy';
  if (summary.sinceSpeechMs >= silentLong.afterMs) return 'silent-long';
  return 'good';
}

/** Follows the input block by block. Pure bookkeeping: time comes in as the blocks' length. */
export class SignalMeter {
  #levels: number[] = [];
  #spoken: { rmsDb: number; clipped: number }[] = [];
  #sinceSpeechMs = 0;
  #zerosMs = 0;

  /** `speaking`: whether the voice detector hears somebody in this block. */
  add(block: Float32Array, durationMs: number, speaking: boolean): SignalSummary {
    const level = measureLevel(block);
    const most = Math.ceil(data.memoryMs / durationMs);
    this.#zerosMs = level.peakDb <= SILENT_DB ? this.#zerosMs + durationMs : 0;
    this.#sinceSpeechMs = speaking ? 0 : this.#sinceSpeechMs + durationMs;
    this.#levels = [...this.#levels, level.rmsDb].slice(-most);
    if (speaking) this.#spoken = [...this.#spoken, level].slice(-Math.ceil(data.spokenMs / durationMs));
    const sorted = this.#levels.toSorted((a, b) => a - b);
    const spoken = this.#spoken.map((one) => one.rmsDb).toSorted((a, b) => a - b);
    const at = (list: number[], share: number): number =>
      list[Math.min(list.length - 1, Math.floor(share * list.length))] ?? SILENT_DB;
    return {
      noiseFloorDb: at(sorted, data.noisePercentile),
      speechDb: at(spoken.length > 0 ? spoken : sorted, data.speechPercentile),
      clipped: this.#spoken.reduce((sum, one) => sum + one.clipped, 0) / Math.max(1, this.#spoken.length),
      sinceSpeechMs: this.#sinceSpeechMs,
      zerosMs: this.#zerosMs,
    };
  }
}
