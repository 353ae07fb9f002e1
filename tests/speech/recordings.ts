import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { readWav, type Sound } from '../../src/audio/wav.ts';
import { ensureData, ensureProgram } from '../tools.ts';

/** Recordings for the speech tests: spoken or found when the tests run, never kept in the project. */
export function needSynthesiser(): void {
  if (!ensureProgram('espeak-ng')) {
    throw new Error(
      'These tests speak with espeak-ng, which is not installed and could not be (Debian package espeak-ng; installing needs root). Install it and run them again.',
    );
  }
}

function needFolder(folder: string, debianPackage: string): string {
  const found = ensureData(folder, debianPackage);
  if (!found) {
    throw new Error(
      `These tests need real human speech from the Debian package ${debianPackage}, which is not installed and could not be (installing needs root). Install it and run them again.`,
    );
  }
  return found;
}

function wavsBelow(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.wav'))
    .sort()
    .map((name) => join(folder, name));
}

/** Telephone prompts read by one person, for hearing what must log nothing; every `step`-th. */
export function prompts(step: number): { file: string; sound: Sound }[] {
  const folder = needFolder('/usr/share/asterisk/sounds/en_US_f_Allison', 'asterisk-core-sounds-en-wav');
  return wavsBelow(folder)
    .filter((_, k) => k % step === 0)
    .map((file) => ({ file, sound: readWav(readFileSync(file)) }));
}

/** Sentences by several people: numbers, cards, a little of everything. */
export function sentences(): { file: string; sound: Sound }[] {
  const folder = needFolder('/usr/share/pocketsphinx/test/data', 'pocketsphinx-testdata');
  return wavsBelow(folder).map((file) => ({ file, sound: readWav(readFileSync(file)) }));
}
