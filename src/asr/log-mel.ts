import { makeTransform } from './fourier.ts';

/** The sound as Whisper's encoder wants it; sizes from model.json. */
export interface MelSizes {
  sampleRate: number;
  windowSeconds: number;
  mels: number;
  fft: number;
  hop: number;
}

/** log10 of the least energy that counts. Source: Whisper, audio.py, log_mel_spectrogram. */
const FLOOR = -10;
/** Decades below the loudest value that are kept. Same source. */
const RANGE = 8;

/** Slaney's mel scale: linear to 1000 Hz, then 27 steps for a factor of 6.4. Source: Auditory Toolbox, 1998. */
function slaneyHz(mel: number): number {
  return mel < 15 ? (200 * mel) / 3 : 1000 * Math.exp((Math.log(6.4) / 27) * (mel - 15));
}

/** Triangles from 0 to half the sample rate, area-normalised; per band the first bin and its weights. */
function melBands({ sampleRate, mels, fft }: MelSizes): { first: number; weights: Float64Array }[] {
  const bins = fft / 2 + 1;
  const topMel = 15 + (Math.log(sampleRate / 2 / 1000) * 27) / Math.log(6.4);
  const edge = (k: number): number => slaneyHz((topMel * k) / (mels + 1));
  return Array.from({ length: mels }, (_, band) => {
    const [low, centre, high] = [edge(band), edge(band + 1), edge(band + 2)];
    const all = Array.from({ length: bins }, (_, bin) => {
      const hz = (bin * sampleRate) / fft;
      const slope = Math.min((hz - low) / (centre - low), (high - hz) / (high - centre));
      return Math.max(0, slope) * (2 / (high - low));
    });
    const first = Math.max(
      0,
      all.findIndex((weight) => weight > 0),
    );
    const last = all.findLastIndex((weight) => weight > 0);
    return { first, weights: Float64Array.from(all.slice(first, last + 1)) };
  });
}

/**
 * Makes the function samples (mono, −1…1, at the model's rate) → log-mel [mels × frames], frames = 100 a second.
 * Shorter sound is padded with silence to the window, longer sound is cut at its end.
 * Checked against @xenova/transformers in tests/asr/log-mel.test.ts.
 */
export function makeLogMel(sizes: MelSizes): (samples: Float32Array) => Float32Array {
  const { fft, hop, mels } = sizes;
  const total = sizes.windowSeconds * sizes.sampleRate;
  const frames = total / hop;
  const bands = melBands(sizes);
  // 400 = 4 · 4 · 5 · 5
  const transform = makeTransform(factorise(fft));
  const hann = Float64Array.from({ length: fft }, (_, k) => 0.5 - 0.5 * Math.cos((2 * Math.PI * k) / fft));
  const re = new Float64Array(fft);
  const im = new Float64Array(fft);
  const power = new Float64Array(fft / 2 + 1);

  return (samples) => {
    const used = Math.min(samples.length, total);
    const sampleAt = (k: number): number => {
      const mirrored = k < 0 ? -k : k >= total ? 2 * (total - 1) - k : k;
      return mirrored < used ? samples[mirrored]! : 0;
    };
    const out = new Float32Array(mels * frames).fill(FLOOR);
    let loudest = FLOOR;
    const write = (frame: number): void => {
      for (let band = 0; band < mels; band++) {
        const { first, weights } = bands[band]!;
        let sum = 0;
        for (let k = 0; k < weights.length; k++) sum += weights[k]! * power[first + k]!;
        const value = Math.max(FLOOR, Math.log10(sum));
        out[band * frames + frame] = value;
        if (value > loudest) loudest = value;
      }
    };
    // Frames that see silence alone keep the floor. Two real frames go through one complex transform.
    const sounding = Math.min(frames, Math.ceil((used + fft / 2) / hop) + 1);
    for (let frame = 0; frame < sounding; frame += 2) {
      for (let k = 0; k < fft; k++) {
        const at = frame * hop - fft / 2 + k;
        re[k] = sampleAt(at) * hann[k]!;
        im[k] = frame + 1 < frames ? sampleAt(at + hop) * hann[k]! : 0;
      }
      transform.run(re, im);
      for (const second of [0, 1]) {
        for (let k = 0; k <= fft / 2; k++) {
          const mirror = (fft - k) % fft;
          const a = second ? im[k]! + im[mirror]! : re[k]! + re[mirror]!;
          const b = second ? re[mirror]! - re[k]! : im[k]! - im[mirror]!;
          power[k] = (a * a + b * b) / 4;
        }
        if (frame + second < frames) write(frame + second);
      }
    }
    for (let k = 0; k < out.length; k++) out[k] = (Math.max(out[k]!, loudest - RANGE) + 4) / 4;
    return out;
  };
}

function factorise(n: number): number[] {
  const factors: number[] = [];
  for (const factor of [4, 2, 3, 5, 7]) {
    while (n % factor === 0) {
      factors.push(factor);
      n /= factor;
    }
  }
  if (n > 1) factors.push(n);
  return factors;
}
