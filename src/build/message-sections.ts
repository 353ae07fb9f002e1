import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Plugin } from 'vite';

const FILE = join(import.meta.dirname, '../ui/messages/en.json');
const NAME = /^messages:(\w+)$/;
/** Sections that a live record does without. */
const LATER = ['department', 'desk', 'practice', 'settings', 'share', 'standby'];

/**
 * Hands the one message file out in parts: `messages:first` holds what is needed from the start to the end of a
 * live record, `messages:desk` and the like what a later screen needs. In development and in unit tests the first
 * part is the whole file.
 */
export function messageSections(): Plugin {
  let building = false;
  return {
    name: 'utterlog-messages',
    configResolved: ({ command }) => void (building = command === 'build'),
    resolveId: (id) => (NAME.test(id) ? `\0${id}` : null),
    load(id) {
      const name = NAME.exec(id.slice(1))?.[1];
      if (!id.startsWith('\0') || name === undefined) return null;
      this.addWatchFile(FILE);
      const all = JSON.parse(readFileSync(FILE, 'utf8')) as Record<string, unknown>;
      if (name !== 'first') return `export default ${JSON.stringify(all[name])}`;
      if (building) for (const section of LATER) delete all[section];
      return `export default ${JSON.stringify(all)}`;
    },
  };
}
