import { powerDb } from '../audio/decibels.ts';
import { samplesIn } from '../audio/resample.ts';
import data from './fill-window.json' with { type: 'json' };

/** There and back: the end of it is its beginning, so that it may be repeated without a jump. */
function thereAndBack(samples: Float32Array): Float32Array {
  const both = new Float32Array(2 * samples.length);
  both.set(samples.slice().reverse());
  both.set(samples, samples.length);
  return both;
}

/**
 * An utterance lengthened to the model's window by the room's own sound: its last and its first moments, over and over.
 * Of the two, the one that is much louder is left out: there is speech in it. `samples`: mono, 16 kHz; what is longer
 * than the window (in samples) is cut.
 *
 * Where the noise of a room stops dead before the window does, the model writes words for it: models/reports/fill.txt.
 */
export function filledWindow(samples: Float32Array, windowSamples: number): Float32Array {
  const filled = new Float32Array(windowSamples);
  filled.set(samples.subarray(0, windowSamples));
  if (samples.length === 0) return filled;
  const last = samples.subarray(-samplesIn(data.lastMs));
  const first = samples.subarray(0, samplesIn(data.firstMs));
  const louderDb = powerDb(last) - powerDb(first);
  const room = [
    ...(louderDb < data.speechAboveDb ? thereAndBack(last) : []),
    ...(louderDb > -data.speechAboveDb ? thereAndBack(first) : []),
  ];
  for (let k = samples.length; k < windowSamples; k++) filled[k] = room[(k - samples.length) % room.length]!;
  return filled;
}
