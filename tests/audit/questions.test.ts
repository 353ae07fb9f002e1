import { mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { QUESTION_NAMES } from '../../src/audit/answers.ts';
import { answer } from '../../src/audit/questions.ts';
import { TABLES } from '../../src/audit/tables.ts';
import { bring, folderOf, type Engine } from '../../src/cli/audit/bring.ts';
import { CsvParts } from '../../src/cli/audit/csv-parts.ts';
import { bringDuckDb, openDuckDb, type Duck } from '../../src/cli/audit/duckdb.ts';
import { askDuckDb, questionSql, writeParquet } from '../../src/cli/audit/tables-out.ts';
import { inventedRows } from './invented-rows.ts';

/** Engines come from a registry; where one cannot be had its tests are skipped and counted. */
const had = (coming: Promise<void>) =>
  coming.then(
    () => true,
    () => false,
  );
const POSTGRES: Engine = {
  name: 'Postgres',
  lock: join(import.meta.dirname, 'postgres'),
  package: '@electric-sql/pglite',
  size: 'about 25 MB',
};
const duckDbHere = await had(bringDuckDb(() => {}));
const postgresHere = await had(bring(POSTGRES, () => {}));

const rows = inventedRows(150);
const expected = answer(rows);
let duck: Duck;
let folder: string;

/** Rows as plain numbers to nine places, in an order of their own. */
function tidy(list: readonly unknown[]): string[] {
  const number = (value: unknown) =>
    typeof value === 'bigint' ? Number(value) : typeof value === 'number' ? Number(value.toFixed(9)) : value;
  return list
    .map((row) =>
      JSON.stringify(
        Object.entries(row as object)
          .map(([name, value]) => [name, number(value)] as const)
          .sort(([a], [b]) => (a < b ? -1 : 1)),
      ),
    )
    .sort();
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'audit-'));
  const parts = new CsvParts(folder, 'a');
  parts.add(rows, 1);
  parts.flush();
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe.skipIf(!duckDbHere)('DuckDB', () => {
  beforeAll(async () => {
    duck = await openDuckDb({ memory: '500MB', spill: folder });
    await writeParquet(duck, folder, folder, []);
  });
  afterAll(() => duck.close());

  it('gives the same answers as the questions worked out in memory', async () => {
    const answers = await askDuckDb(duck, folder, () => {});
    for (const name of QUESTION_NAMES) {
      expect(answers[name].length, name).toBeGreaterThan(0);
      expect(tidy(answers[name]), name).toEqual(tidy(expected[name]));
    }
  });

  it('holds the listed columns in the listed order, and says in the file what it is', async () => {
    for (const { name, columns } of TABLES) {
      const found = await duck.rows(`describe select * from read_parquet('${join(folder, name)}.parquet')`);
      expect(found.map((column) => column['column_name'])).toEqual(columns.map((column) => column.name));
      const [count] = await duck.rows(`select count(*) as n from ${name}`);
      expect(Number(count!['n'])).toBe(rows[name].length);
      const notes = await duck.rows(
        `select decode(value) as words from parquet_kv_metadata('${join(folder, name)}.parquet') where decode(key) = 'notice'`,
      );
      expect(String(notes[0]!['words'])).toMatch(/stay in the department/);
    }
  });
});

interface Postgres {
  exec(sql: string): Promise<unknown>;
  query(sql: string): Promise<{ rows: Record<string, unknown>[] }>;
  close(): Promise<void>;
}

describe.skipIf(!postgresHere)('Postgres', () => {
  let postgres: Postgres;
  beforeAll(async () => {
    const require = createRequire(join(folderOf(POSTGRES), 'package.json'));
    const { PGlite } = require(POSTGRES.package) as { PGlite: new () => Postgres };
    postgres = new PGlite();
    const types = { text: 'text', integer: 'integer', number: 'double precision', boolean: 'boolean' };
    for (const { name, columns } of TABLES) {
      await postgres.exec(
        `create table ${name} (${columns.map((c) => `${c.name} ${types[c.type]}`).join(', ')})`,
      );
      const value = (cell: unknown) => (typeof cell === 'string' ? `'${cell}'` : String(cell));
      for (let at = 0; at < rows[name].length; at += 500) {
        const some = (rows[name].slice(at, at + 500) as object[]).map(
          (row) => `(${columns.map((c) => value((row as Record<string, unknown>)[c.name])).join(', ')})`,
        );
        await postgres.exec(`insert into ${name} values ${some.join(', ')}`);
      }
    }
  }, 60_000);
  afterAll(() => postgres.close());

  it.each(QUESTION_NAMES)('answers %s with the same SQL', async (name) => {
    const { rows: found } = await postgres.query(questionSql(name));
    expect(tidy(found)).toEqual(tidy(expected[name]));
  });
});
