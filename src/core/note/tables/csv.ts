import Papa from 'papaparse';
import { PRACTICE_MARK, type Note } from '../model.ts';
import { columnsWith, type Cell, type Column } from './column.ts';
import data from './columns.json';
import { ENTRY_COLUMNS, entryRows } from './entries.ts';
import { INTERVAL_COLUMNS, intervalRows } from './intervals.ts';
import { SIGNATURE_COLUMNS, signatureRows } from './signatures.ts';

/** Tells spreadsheet programs that the file is UTF-8. */
const BYTE_ORDER_MARK = '\uFEFF';

/** What a spreadsheet may run as a formula, the full-width signs of East Asian keyboards included. */
const FORMULA = /^[=+\-@\t\r\n\uFF1D\uFF0B\uFF0D\uFF20]/;

/** One file of the export. */
export interface TableFile {
  name: string;
  text: string;
}

interface Table {
  name: string;
  columns: Omit<Column<never>, 'cell'>[];
  rows: Cell[][];
}

/**
 * The record as typed tables: entries, intervals, signatures, and a fourth file that says what each column holds.
 * UTF-8, RFC 4180. A cell is empty where nothing was said. Text that a spreadsheet would run as a formula gets an
 * apostrophe in front; numbers stay numbers. Of a practice record every file begins with a column that says so in
 * its name, so that a file without rows carries the mark too.
 */
export function noteTables(note: Note): TableFile[] {
  const tables = [
    table(note, 'entries.csv', ENTRY_COLUMNS, entryRows(note)),
    table(note, 'intervals.csv', INTERVAL_COLUMNS, intervalRows(note)),
    table(note, 'signatures.csv', SIGNATURE_COLUMNS, signatureRows(note)),
  ];
  return [...tables, columnTable(note, tables)].map(({ name, columns, rows }) => ({
    name,
    text: csv([columns.map((column) => column.name), ...rows]),
  }));
}

/** Stands at the beginning of every row of every file. */
function ofRecord({ practice, file }: Note): Column<unknown>[] {
  const columns = columnsWith<'record', unknown>('record', {
    kind: () => (practice ? 'practice' : 'real'),
    record: () => file.recordId,
  });
  if (practice)
    columns.unshift({
      name: PRACTICE_MARK,
      type: 'text',
      meaning: data.practice.meaning,
      cell: () => PRACTICE_MARK,
    });
  return columns;
}

function table<Row>(note: Note, name: string, columns: readonly Column<Row>[], rows: readonly Row[]): Table {
  const all: Column<Row>[] = [...ofRecord(note), ...columns];
  return { name, columns: all, rows: rows.map((row) => all.map(({ cell }) => cell(row))) };
}

interface Described {
  file: string;
  column: Omit<Column<never>, 'cell'>;
}

const COLUMN_COLUMNS = columnsWith<'columns', Described>('columns', {
  file: ({ file }) => file,
  column: ({ column }) => column.name,
  type: ({ column }) => column.type,
  unit: ({ column }) => column.unit,
  choices: ({ column }) => column.choices?.join('; '),
  meaning: ({ column }) => column.meaning,
});

/** What each column of each file holds, its own included. */
function columnTable(note: Note, tables: readonly Table[]): Table {
  const name = 'columns.csv';
  const own = table(note, name, COLUMN_COLUMNS, []);
  const described = [...tables, own].flatMap(({ name: file, columns }) =>
    columns.map((column) => ({ file, column })),
  );
  return table(note, name, COLUMN_COLUMNS, described);
}

const csv = (rows: readonly Cell[][]): string =>
  `${BYTE_ORDER_MARK}${Papa.unparse(rows as unknown[][], { newline: '\r\n', escapeFormulae: FORMULA })}\r\n`;
