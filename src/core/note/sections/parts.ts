import type { Note } from '../model.ts';

/** What every section is made from. */
export type NoteParts = Pick<Note, 'file' | 'view' | 'facts' | 'vocabulary' | 'lines'>;
