import { SPEECH_RATE } from '../audio/resample.ts';
import { gaussian, makeRandom } from './random.ts';

/** Kinds of noise that a script can make; levels are set by mixAt. */
export type NoiseKind = 'white' | 'pink' | 'hum' | 'alarm' | 'babble';

/** Noise of `length` samples at 16 kHz, repeatable by seed. Babble is made of the clips given. */
export function makeNoise(
  kind: NoiseKind,
  length: number,
  seed: number,
  voices: readonly Float32Array[] = [],
): Float32Array {
  const random = makeRandom(seed);
  const out = new Float32Array(length);
  switch (kind) {
    case 'white':
      return out.map(() => gaussian(random));
    case 'pink': {
      // Kellet's three-pole filter: within 0.5 dB of −3 dB an octave above 10 Hz.
      let [a, b, c] = [0, 0, 0];
      return out.map(() => {
        const white = gaussian(random);
        a = 0.99765 * a + white * 0.099046;
        b = 0.963 * b + white * 0.2965164;
        c = 0.57 * c + white * 1.0526913;
        return a + b + c + white * 0.1848;
      });
    }
    case 'hum':
      // Mains and its overtones, with the rush of a ventilation.
      return out.map((_, k) => {
        const t = (2 * Math.PI * k) / SPEECH_RATE;
        return Math.sin(50 * t) + 0.6 * Math.sin(100 * t) + 0.3 * Math.sin(150 * t) + 0.3 * gaussian(random);
      });
    case 'alarm':
      // Three short tones every two seconds.
      return out.map((_, k) => {
        const inPeriod = (k / SPEECH_RATE) % 2;
        const on = inPeriod < 0.9 && inPeriod % 0.3 < 0.18;
        return on ? Math.sin((2 * Math.PI * 880 * k) / SPEECH_RATE) : 0.02 * gaussian(random);
      });
    case 'babble': {
      if (voices.length === 0) throw new Error('Babble needs voices.');
      for (let talker = 0; talker < 5; talker++) {
        for (let at = -Math.floor(random() * SPEECH_RATE); at < length;) {
          const voice = voices[Math.floor(random() * voices.length)]!;
          for (let k = Math.max(0, -at); k < voice.length && at + k < length; k++) {
            out[at + k] = out[at + k]! + voice[k]!;
          }
          at += voice.length + Math.floor(random() * 0.4 * SPEECH_RATE);
        }
      }
      return out;
    }
  }
}

/** Root mean square of the samples that are not near silence. */
export function activeRms(samples: Float32Array): number {
  const limit = samples.reduce((peak, value) => Math.max(peak, Math.abs(value)), 0) / 100;
  let [sum, count] = [0, 0];
  for (const value of samples) {
    if (Math.abs(value) <= limit) continue;
    sum += value * value;
    count++;
  }
  return Math.sqrt(sum / Math.max(1, count));
}

/** Adds noise so that the speech is `ratioDb` louder, then brings the peak to `peak`. */
export function mixAt(
  speech: Float32Array,
  noise: Float32Array,
  ratioDb: number,
  speechRms = activeRms(speech),
  peak = 0.5,
): Float32Array {
  const noiseRms = Math.sqrt(noise.reduce((sum, value) => sum + value * value, 0) / noise.length);
  const gain = noiseRms === 0 ? 0 : speechRms / noiseRms / 10 ** (ratioDb / 20);
  const mixed = speech.map((value, k) => value + gain * noise[k]!);
  const top = mixed.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  return mixed.map((value) => (value * peak) / top);
}
