import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { FileReader } from './model-files.ts';

/** Reads model files from a folder, for the command line and tests. */
export function folderReader(folder: string): FileReader {
  return async (path, onBytes) => {
    try {
      const bytes = new Uint8Array(await readFile(join(folder, path)));
      onBytes?.(bytes.length);
      return { kind: 'found', bytes };
    } catch (error) {
      return { kind: (error as NodeJS.ErrnoException).code === 'ENOENT' ? 'missing' : 'unreachable' };
    }
  };
}
