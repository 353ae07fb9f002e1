/** Rate of everything after the resampler, samples a second: what both speech models want. */
export const SPEECH_RATE = 16_000;

/** How many samples of that rate so many ms are. */
export const samplesIn = (ms: number): number => Math.round((ms * SPEECH_RATE) / 1000);

/** Zero crossings of the sinc on either side, and the shape of the Kaiser window: about 80 dB of stop band. */
const CROSSINGS = 20;
const KAISER_BETA = 8;
/** The pass band ends here, as a share of the lower of both half rates. */
const PASS = 0.92;

/** Modified Bessel function of the first kind, order 0. Source: its power series. */
function bessel0(x: number): number {
  let sum = 1;
  for (let term = 1, k = 1; term > sum * 1e-12; k++) sum += term *= (x / (2 * k)) ** 2;
  return sum;
}

const greatestDivisor = (a: number, b: number): number => (b === 0 ? a : greatestDivisor(b, a % b));

/** Changes the sample rate of a stream; output n lies exactly at the time of input n · from / to. */
export interface Resampler {
  /** Next samples in, as many as are ready out. */
  push(samples: Float32Array): Float32Array;
  /** The rest, after the last samples. */
  flush(): Float32Array;
}

/**
 * Windowed-sinc resampler (polyphase; Kaiser window). `fromRate`: whole samples a second.
 * Positions are counted in whole numbers, so nothing drifts however long the stream is.
 */
export function makeResampler(fromRate: number, toRate = SPEECH_RATE): Resampler {
  if (fromRate === toRate) return { push: (samples) => samples, flush: () => new Float32Array(0) };
  const divisor = greatestDivisor(fromRate, toRate);
  const [phases, advance] = [toRate / divisor, fromRate / divisor];
  const cutoff = PASS * Math.min(1, toRate / fromRate);
  const half = Math.ceil(CROSSINGS / cutoff);
  const taps = 2 * half;
  const table = makeTable(phases, half, cutoff);

  // `kept[0]` is input number `first`; the next output needs inputs around `at` + phase / phases.
  let kept = new Float32Array(half);
  let first = -half;
  let at = 0;
  let phase = 0;
  let received = 0;

  const produce = (samples: Float32Array, until: number): Float32Array => {
    const input = new Float32Array(kept.length + samples.length);
    input.set(kept);
    input.set(samples, kept.length);
    const out: number[] = [];
    while (at < until && at + half < first + input.length) {
      let sum = 0;
      const from = at - half + 1 - first;
      const row = phase * taps;
      for (let k = 0; k < taps; k++) sum += input[from + k]! * table[row + k]!;
      out.push(sum);
      phase += advance;
      at += Math.floor(phase / phases);
      phase %= phases;
    }
    const used = Math.min(input.length, Math.max(0, at - half + 1 - first));
    kept = input.slice(used);
    first += used;
    return Float32Array.from(out);
  };

  return {
    push(samples) {
      received += samples.length;
      return produce(samples, Infinity);
    },
    flush: () => produce(new Float32Array(half + 1), received),
  };
}

/** Weights [phases × 2 half]; each row adds up to 1, so that a constant stays what it is. */
function makeTable(phases: number, half: number, cutoff: number): Float64Array {
  const taps = 2 * half;
  const table = new Float64Array(phases * taps);
  const top = bessel0(KAISER_BETA);
  for (let phase = 0; phase < phases; phase++) {
    let sum = 0;
    for (let k = 0; k < taps; k++) {
      const x = k - half + 1 - phase / phases;
      const edge = Math.abs(x) / half;
      const angle = Math.PI * cutoff * x;
      const sinc = x === 0 ? 1 : Math.sin(angle) / angle;
      const window = edge >= 1 ? 0 : bessel0(KAISER_BETA * Math.sqrt(1 - edge * edge)) / top;
      sum += table[phase * taps + k] = sinc * window;
    }
    for (let k = phase * taps; k < (phase + 1) * taps; k++) table[k] = table[k]! / sum;
  }
  return table;
}
