import { createReadStream, existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import Papa from 'papaparse';
import { QUESTION_NAMES, type Answers } from '../../audit/answers.ts';
import {
  addRows,
  noRows,
  TABLES,
  TABLES_NOTE,
  type Column,
  type FlatRows,
  type Table,
} from '../../audit/tables.ts';
import type { Duck } from './duckdb.ts';

const SQL_TYPE: Record<Column['type'], string> = {
  text: 'varchar',
  integer: 'integer',
  number: 'double',
  boolean: 'boolean',
};
export const PERSONAL =
  'Pseudonymous personal data: each row belongs to one birth or drill. These tables stay in the department.';

const partsOf = (folder: string, table: string): string[] =>
  readdirSync(folder)
    .filter((name) => name.startsWith(`${table}-`) && name.endsWith('.csv'))
    .map((name) => join(folder, name));

const quoted = (text: string): string => `'${text.replaceAll("'", "''")}'`;

/** Where DuckDB finds the rows of the parts; an empty table where there are none. */
function readParts({ name, columns }: Table, parts: string): string {
  const files = partsOf(parts, name);
  const listed = [...columns.map((c) => [c.name, SQL_TYPE[c.type]] as const), ['copy', 'bigint'] as const];
  if (files.length === 0)
    return `(select ${listed.map(([column, type]) => `cast(null as ${type}) as ${column}`).join(', ')} where false)`;
  const types = listed.map(([column, type]) => `${quoted(column)}: ${quoted(type)}`).join(', ');
  return `read_csv([${files.map(quoted).join(', ')}], header = false, auto_detect = false, delim = ',', quote = '"', columns = {${types}})`;
}

/** Writes the Parquet tables from the parts: listed columns only, each record once. */
export async function writeParquet(
  duck: Duck,
  parts: string,
  out: string,
  olderCopies: readonly number[],
): Promise<void> {
  await duck.run('create temp table older (copy bigint)');
  for (let at = 0; at < olderCopies.length; at += 1000) {
    const values = olderCopies.slice(at, at + 1000).map((copy) => `(${copy})`);
    await duck.run(`insert into older values ${values.join(', ')}`);
  }
  const without = olderCopies.length > 0 ? ' where copy not in (select copy from older)' : '';
  for (const table of TABLES) {
    const columns = table.columns.map(({ name }) => name).join(', ');
    const file = join(out, `${table.name}.parquet`);
    await duck.run(
      `copy (select ${columns} from ${readParts(table, parts)}${without}) to ${quoted(file)} (format parquet, compression zstd, kv_metadata {notice: ${quoted(PERSONAL)}})`,
    );
  }
}

const QUESTIONS = join(import.meta.dirname, '../../audit/questions');
export const questionSql = (name: string): string => readFileSync(join(QUESTIONS, `${name}.sql`), 'utf8');

/** Numbers as JavaScript has them: DuckDB counts in whole numbers of 64 bits. */
const plainRow = (row: Record<string, unknown>): Record<string, unknown> =>
  Object.fromEntries(
    Object.entries(row).map(([name, value]) => [name, typeof value === 'bigint' ? Number(value) : value]),
  );

/** Asks every question of the Parquet tables. */
export async function askDuckDb(
  duck: Duck,
  folder: string,
  onAsked: (name: string, ms: number) => void,
): Promise<Answers> {
  for (const { name } of TABLES)
    await duck.run(
      `create view ${name} as select * from read_parquet(${quoted(join(folder, `${name}.parquet`))})`,
    );
  const answers: Record<string, unknown> = {};
  for (const name of QUESTION_NAMES) {
    const fromMs = performance.now();
    answers[name] = (await duck.rows(questionSql(name))).map(plainRow);
    onAsked(name, performance.now() - fromMs);
  }
  return answers as unknown as Answers;
}

/** Writes the tables as CSV and gives their rows: for a machine on which DuckDB cannot be had. */
export async function writeCsv(
  parts: string,
  out: string,
  olderCopies: readonly number[],
): Promise<FlatRows> {
  const older = new Set(olderCopies);
  const rows = noRows();
  for (const { name, columns } of TABLES) {
    const lines: string[] = [columns.map((column) => column.name).join(',')];
    for (const file of partsOf(parts, name)) {
      for await (const line of createInterface({ input: createReadStream(file) })) {
        const comma = line.lastIndexOf(',');
        if (older.has(Number(line.slice(comma + 1)))) continue;
        lines.push(line.slice(0, comma));
      }
    }
    writeFileSync(join(out, `${name}.csv`), `${lines.join('\n')}\n`, { mode: 0o600 });
    addRows(rows, { ...noRows(), [name]: rowsOf(lines, columns) });
  }
  return rows;
}

function rowsOf(lines: readonly string[], columns: readonly Column[]): object[] {
  const { data } = Papa.parse<string[]>(lines.slice(1).join('\n'), { skipEmptyLines: true });
  const value = ({ type }: Column, text: string) =>
    text === '' ? null : type === 'text' ? text : type === 'boolean' ? text === 'true' : Number(text);
  return data.map((cells) =>
    Object.fromEntries(columns.map((column, at) => [column.name, value(column, cells[at]!)])),
  );
}

/** What each column means, beside the tables. */
export function writeColumns(out: string): void {
  const rows = TABLES.flatMap(({ name, about, columns }) => [
    [name, '', '', about],
    ...columns.map((column) => [
      name,
      column.name,
      `${column.type}${column.null ? ', may be empty' : ''}`,
      `${column.about}${Array.isArray(column.of) ? ` One of: ${column.of.join('; ')}.` : ''}`,
    ]),
  ]);
  writeFileSync(
    join(out, 'columns.csv'),
    `\uFEFF${Papa.unparse([['table', 'column', 'type', 'meaning'], ...rows])}\r\n`,
  );
  writeFileSync(
    join(out, NOTICE_FILE),
    `${PERSONAL}\n${TABLES_NOTE}\ncolumns.csv says what each column means.\nThe report beside this folder withholds small cells; these tables do not.\nAnother engine: load the tables under the same names, and the questions (src/audit/questions/*.sql) run unchanged on PostgreSQL and Spark.\n`,
  );
}

export const NOTICE_FILE = 'STAYS-IN-THE-DEPARTMENT.txt';
export const holdsFormerAudit = (out: string): boolean => existsSync(join(out, 'tables', NOTICE_FILE));
