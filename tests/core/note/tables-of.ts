import Papa from 'papaparse';
import type { Note } from '../../../src/core/note/model.ts';
import { noteTables } from '../../../src/core/note/tables/csv.ts';

export type Row = Record<string, string>;

/** Rows of a table as a program reads them that knows nothing of this project. */
export function rowsOf(text: string): Row[] {
  const { data, errors } = Papa.parse<Row>(text.replace('\uFEFF', '').replace(/\r\n$/, ''), { header: true });
  if (errors.length > 0) throw new Error(JSON.stringify(errors));
  return data;
}

/** All files of the export in one text, for tests that look for words. */
export const tablesText = (note: Note): string =>
  noteTables(note)
    .map(({ text }) => text.slice(1))
    .join('');

export function tableOf(note: Note, name: string): Row[] {
  const found = noteTables(note).find((file) => file.name === name);
  if (found === undefined) throw new Error(`no ${name}`);
  return rowsOf(found.text);
}
