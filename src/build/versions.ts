import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { Versions } from '../core/log/events.ts';

const HOME = join(import.meta.dirname, '../..');
/** Data that decides which entry a wording becomes. */
const VOCABULARY = ['src/core/vocabulary', 'src/core/interpret', 'src/packs', 'src/lang'];

function jsonFiles(folder: string): string[] {
  if (!statSync(folder, { throwIfNoEntry: false })?.isDirectory()) return [];
  return readdirSync(folder, { withFileTypes: true })
    .flatMap((entry) => {
      const path = join(folder, entry.name);
      if (entry.isDirectory()) return jsonFiles(path);
      return entry.name.endsWith('.json') ? [path] : [];
    })
    .sort();
}

function shortHash(paths: readonly string[]): string {
  const hash = createHash('sha256');
  for (const path of paths) hash.update(path.slice(HOME.length)).update(readFileSync(path));
  return hash.digest('hex').slice(0, 12);
}

/** Versions of app, speech model and vocabulary of this checkout. */
export function versionsHere(): Versions {
  const { version } = JSON.parse(readFileSync(join(HOME, 'package.json'), 'utf8')) as { version: string };
  return {
    app: version,
    model: shortHash([join(HOME, 'models/manifest.json')]),
    vocabulary: shortHash(VOCABULARY.flatMap((folder) => jsonFiles(join(HOME, folder)))),
  };
}
