import type { Plugin } from 'vite';

/**
 * Leaves out of the build what data files say to those who read them and no code reads: every `why`, and the
 * `source` at a file's head. Sources further in are shown by the app and stay.
 */
export function withoutDataNotes(): Plugin {
  return {
    name: 'utterlog-data-notes',
    apply: 'build',
    enforce: 'pre',
    transform(code, id) {
      if (!/\/src\/(core|audio|asr)\/[^?]*\.json$/.test(id)) return null;
      const data: unknown = JSON.parse(code, (key, value: unknown) =>
        key === 'why' && typeof value === 'string' ? undefined : value,
      );
      if (typeof data === 'object' && data !== null && 'source' in data) delete data.source;
      return { code: JSON.stringify(data), map: null };
    },
  };
}
