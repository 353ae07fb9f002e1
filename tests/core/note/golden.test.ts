import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { noteText } from '../../../src/core/note/text.ts';
import { INVENTED } from './invented-records.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const folder = fileURLToPath(new URL('./golden/', import.meta.url));

/**
 * The notes of six invented records, reviewed line by line. A change of wording shows here as a
 * difference to be read again; write them anew with UPDATE_GOLDEN=1 and review what changed.
 */
describe('golden notes', () => {
  it.each(Object.keys(INVENTED))('%s', (name) => {
    const { file, view } = INVENTED[name]!();
    const text = noteText(buildNote(file, view, deriveFacts(view), loadVocabulary()));
    const path = `${folder}${name}.txt`;
    if (process.env.UPDATE_GOLDEN === '1') {
      mkdirSync(folder, { recursive: true });
      writeFileSync(path, text);
    }
    expect(existsSync(path)).toBe(true);
    expect(text).toBe(readFileSync(path, 'utf8'));
  });
});
