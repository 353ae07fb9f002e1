import { describe, expect, it } from 'vitest';
import { makeResampler, SPEECH_RATE } from '../../src/audio/resample.ts';

const tone = (hz: number, rate: number, seconds: number): Float32Array =>
  Float32Array.from({ length: Math.round(rate * seconds) }, (_, k) =>
    Math.sin((2 * Math.PI * hz * k) / rate),
  );

function resampled(input: Float32Array, rate: number, block: number): Float32Array {
  const resampler = makeResampler(rate);
  const out: number[] = [];
  for (let at = 0; at < input.length; at += block) out.push(...resampler.push(input.slice(at, at + block)));
  out.push(...resampler.flush());
  return Float32Array.from(out);
}

const rms = (values: Float32Array): number =>
  Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

describe('makeResampler', () => {
  it.each([8000, 11025, 16000, 22050, 32000, 44100, 48000, 96000, 44056])(
    'keeps a tone of 1 kHz in place and in size from %i samples a second',
    (rate) => {
      const out = resampled(tone(1000, rate, 0.5), rate, 441);
      const wanted = tone(1000, SPEECH_RATE, 0.5);
      expect(Math.abs(out.length - wanted.length)).toBeLessThanOrEqual(1);
      // The very ends lack one side; in between every sample lies where it should.
      const error = out.slice(200, -200).map((value, k) => value - wanted[k + 200]!);
      expect(rms(error)).toBeLessThan(0.001);
    },
  );

  it.each([44100, 48000, 96000])('leaves nothing of 12 kHz from %i samples a second', (rate) => {
    const out = resampled(tone(12000, rate, 0.3), rate, 512);
    expect(20 * Math.log10(rms(out.slice(200, -200)))).toBeLessThan(-70);
  });

  it('gives the same whatever the size of the blocks', () => {
    const input = tone(700, 44100, 0.2);
    expect(resampled(input, 44100, 7)).toEqual(resampled(input, 44100, 5000));
  });

  it('does not drift: ten minutes of blocks give ten minutes of samples', () => {
    const resampler = makeResampler(11025);
    const block = new Float32Array(11025);
    let count = 0;
    for (let second = 0; second < 600; second++) count += resampler.push(block).length;
    count += resampler.flush().length;
    expect(count).toBe(600 * SPEECH_RATE);
  }, 120_000);
});
