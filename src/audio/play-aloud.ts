import type { Sound } from './wav.ts';

/**
 * Plays a recording through the device's speaker from this moment on, for those who listen while the same
 * recording goes through the path of the microphone. Where the browser plays nothing, nothing else is disturbed.
 */
export function playAloud({ sampleRate, samples }: Sound): { stop(): void } {
  if (typeof AudioContext === 'undefined') return { stop: () => {} };
  const context = new AudioContext();
  const buffer = context.createBuffer(1, samples.length, sampleRate);
  buffer.copyToChannel(new Float32Array(samples), 0);
  const source = context.createBufferSource();
  source.buffer = buffer;
  source.connect(context.destination);
  const close = () => void context.close().catch(() => {});
  source.onended = close;
  source.start();
  return {
    stop: () => {
      source.onended = null;
      source.stop();
      close();
    },
  };
}
