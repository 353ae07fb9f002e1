import { readFile } from 'node:fs/promises';
import { readWav, WavError, type Sound } from '../audio/wav.ts';

/** Ends the command: a sentence on standard error, exit code 2. */
export function refuse(sentence: string): never {
  process.stderr.write(`${sentence}\n`);
  process.exit(2);
}

/** Reads a WAV file; ends the command where it cannot be read. */
export async function readSound(file: string): Promise<Sound> {
  try {
    return readWav(await readFile(file));
  } catch (error) {
    if (error instanceof WavError) return refuse(`${file}: ${error.message}`);
    const { code, message } = error as NodeJS.ErrnoException;
    return refuse(
      code === 'ENOENT' ? `${file}: there is no such file.` : `${file} cannot be read: ${message}`,
    );
  }
}
