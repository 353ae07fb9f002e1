import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { makeResampler, samplesIn } from '../audio/resample.ts';
import { readWav } from '../audio/wav.ts';

/** Voices of espeak-ng used for measuring; none of them was used to tune the model. */
export const VOICES = ['en-gb', 'en-gb-scotland', 'en-gb-x-rp', 'en-gb-x-gbcwmd', 'en-us', 'en-029'] as const;

/** Throws a sentence where the speech synthesiser is not there. Speech for measuring is made when it is needed. */
export function needVoices(): void {
  try {
    execFileSync('espeak-ng', ['--version'], { stdio: 'ignore' });
  } catch {
    throw new Error(
      'This needs the speech synthesiser espeak-ng, which is not installed. ' +
        'Install it (Debian, Ubuntu: apt-get install espeak-ng; macOS: brew install espeak-ng) and try again.',
    );
  }
}

/** `text` spoken, 16 kHz mono. `wordsPerMinute`: 175 is the synthesiser's usual pace. */
export function say(text: string, voice: string = VOICES[0], wordsPerMinute = 165): Float32Array {
  const folder = mkdtempSync(join(tmpdir(), 'say-'));
  try {
    const file = join(folder, 'said.wav');
    execFileSync('espeak-ng', ['-v', voice, '-s', String(wordsPerMinute), '-w', file, '--', text]);
    const { sampleRate, samples } = readWav(readFileSync(file));
    const resampler = makeResampler(sampleRate);
    return joined([resampler.push(samples), resampler.flush()]);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Where the sound of a clean clip begins and ends: above −40 dB of its peak, in steps of 1 ms. Samples. */
export function soundingPart(clean: Float32Array): { from: number; to: number } {
  const limit = clean.reduce((peak, value) => Math.max(peak, Math.abs(value)), 0) / 100;
  const loud = (value: number): boolean => Math.abs(value) > limit;
  return { from: clean.findIndex(loud), to: clean.findLastIndex(loud) + 1 };
}

export function joined(parts: readonly Float32Array[]): Float32Array {
  const all = new Float32Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

export const silence = (ms: number): Float32Array => new Float32Array(samplesIn(ms));
