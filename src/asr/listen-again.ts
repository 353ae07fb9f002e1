import data from './guards.json' with { type: 'json' };
import type { HeardTwice, Recogniser } from './recogniser.ts';

/** The same sound at `speed` (below 1: slower and lower), by straight lines between samples. */
export function atSpeed(samples: Float32Array, speed: number): Float32Array {
  const out = new Float32Array(Math.floor((samples.length - 1) / speed) + 1);
  for (let k = 0; k < out.length; k++) {
    const at = Math.floor(k * speed);
    const here = samples[at]!;
    out[k] = here + (k * speed - at) * ((samples[at + 1] ?? here) - here);
  }
  return out;
}

/**
 * Listens to an utterance again, at a speed that depends on how often it was listened to again before; the other
 * arguments as for `recognise`. Null also where no other speed is left, or where it is so long that slowed down its end
 * would not fit the model's window: half a sentence must not settle anything.
 */
export async function listenAgain(
  recogniser: Recogniser,
  samples: Float32Array,
  speechMs: number,
  timesBefore: number,
  goOn?: () => Promise<boolean>,
): Promise<HeardTwice | null> {
  const { speeds, mostSamples } = data.again;
  const speed = speeds[timesBefore];
  if (speed === undefined || samples.length === 0) return null;
  const changed = atSpeed(samples, speed);
  return changed.length > mostSamples ? null : recogniser.recognise(changed, speechMs, goOn);
}
