import { SPEECH_RATE } from '../audio/resample.ts';
import { joined, say, silence, soundingPart, VOICES } from './say.ts';
import { makeRandom } from './random.ts';

/** Call-outs one after the other, with the truth about when each was spoken. */
export interface Scene {
  samples: Float32Array;
  spoken: { text: string; onsetMs: number; endMs: number }[];
}

/** `texts` in changing voices, paces and loudness, with pauses of `gapMs` (least, most) between them. */
export function makeScene(
  texts: readonly string[],
  seed: number,
  gapMs: [number, number] = [900, 2500],
): Scene {
  const random = makeRandom(seed);
  const parts = [silence(1200)];
  const spoken: Scene['spoken'] = [];
  let at = parts[0]!.length;
  texts.forEach((text, k) => {
    const clip = say(text, VOICES[k % VOICES.length], 145 + 10 * (k % 5));
    const gain = 0.4 + 0.6 * random();
    const { from, to } = soundingPart(clip);
    const ms = (sample: number): number => ((at + sample) / SPEECH_RATE) * 1000;
    spoken.push({ text, onsetMs: ms(from), endMs: ms(to) });
    const pause = silence(gapMs[0] + random() * (gapMs[1] - gapMs[0]));
    parts.push(
      clip.map((value) => value * gain),
      pause,
    );
    at += clip.length + pause.length;
  });
  return { samples: joined(parts), spoken };
}
