import { Listener, type ListenerEvent } from '../asr/listener.ts';
import type { Recogniser } from '../asr/recogniser.ts';
import type { SpeechProbability } from '../asr/silero.ts';
import type { Sound } from '../audio/wav.ts';

export type HeardEvent = Extract<ListenerEvent, { kind: 'heard' }>;

export interface HeardSound {
  heard: HeardEvent[];
  misfires: number;
  audioMs: number;
  computeMs: number;
}

const BLOCK_SECONDS = 0.032;

/** Runs a whole recording through segmenter and recogniser, as fast as it goes; times from its beginning. */
export async function hearSound(
  models: { recogniser: Recogniser; newSpeechProbability: () => SpeechProbability },
  { sampleRate, samples }: Sound,
  onHeard: (event: HeardEvent) => void = () => {},
): Promise<HeardSound> {
  const begun = performance.now();
  const result: HeardSound = {
    heard: [],
    misfires: 0,
    audioMs: Math.round((samples.length / sampleRate) * 1000),
    computeMs: 0,
  };
  const listener = new Listener({
    ...models,
    breathe: async () => {},
    early: false,
    tell: (event) => {
      if (event.kind === 'misfire') result.misfires++;
      if (event.kind !== 'heard') return;
      result.heard.push(event);
      onHeard(event);
    },
  });
  const block = Math.round(sampleRate * BLOCK_SECONDS);
  for (let at = 0; at < samples.length; at += block) {
    const atMs = (at / sampleRate) * 1000;
    listener.push({ atMs, sampleRate, samples: samples.slice(at, at + block) });
  }
  await listener.flush();
  result.computeMs = Math.round(performance.now() - begun);
  return result;
}
