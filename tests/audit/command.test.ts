import { execFile } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { strToU8, zipSync } from 'fflate';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bringDuckDb, openDuckDb } from '../../src/cli/audit/duckdb.ts';
import { TABLE_NAMES } from '../../src/audit/tables.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import { debrief } from '../../src/core/practice/debrief.ts';
import { debriefJson } from '../../src/core/practice/debrief-export.ts';
import { exportRecord } from '../../src/core/record/export.ts';
import { inventedBirth } from '../../src/lab/invented-births.ts';
import { vocabulary } from './invented-rows.ts';
import { leaksIn, plantedRecord } from './planted.ts';

const duckDbHere = await bringDuckDb(() => {}).then(
  () => true,
  () => false,
);
const ROOT = join(import.meta.dirname, '../..');
const run = promisify(execFile);
/** What the command says on each stream, and how it ended. */
async function audit(...args: string[]): Promise<{ code: number; out: string; told: string }> {
  try {
    const { stdout, stderr } = await run('npx', ['tsx', join(ROOT, 'src/cli/audit.ts'), ...args], {
      cwd: ROOT,
    });
    return { code: 0, out: stdout, told: stderr };
  } catch (error) {
    const { code, stdout, stderr } = error as { code: number; stdout: string; stderr: string };
    return { code, out: stdout, told: stderr };
  }
}

let home: string;
const COUNT = 60;
beforeAll(() => {
  home = mkdtempSync(join(tmpdir(), 'audit-command-'));
  const [north, south] = [join(home, 'one'), join(home, 'two')];
  mkdirSync(north);
  mkdirSync(south);
  const parts: Record<string, Uint8Array> = {};
  for (let index = 0; index < COUNT; index++) {
    const { file, drill } = inventedBirth(index, { acts: 32 });
    if (index % 2 === 0) writeFileSync(join(north, `${index}.json`), exportRecord(file));
    else parts[`${index}.json`] = strToU8(exportRecord(file));
    if (drill)
      writeFileSync(
        join(north, `PRACTICE_debrief_${index}.json`),
        debriefJson(debrief(drill, foldRecord(file), vocabulary)),
      );
  }
  parts['note.fhir.json'] = strToU8('{}');
  writeFileSync(join(south, 'export.zip'), zipSync(parts));
  // The same record twice, the older copy with fewer events; and what is no record, or an altered one.
  const { file } = inventedBirth(0, { acts: 32 });
  writeFileSync(join(north, 'older.json'), exportRecord({ ...file, events: file.events.slice(0, 20) }));
  writeFileSync(join(north, 'planted.json'), exportRecord(plantedRecord().file));
  writeFileSync(join(north, 'other.json'), '{"a": 1}');
  writeFileSync(
    join(north, 'altered.json'),
    exportRecord(inventedBirth(1).file).replace('"madeAtMs":', '"madeAtMs":1'),
  );
});
afterAll(() => rmSync(home, { recursive: true, force: true }));

const paths = () => [`North=${join(home, 'one')}`, `South ward=${join(home, 'two')}`];
const filesOf = (folder: string): string[] =>
  readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name));

describe('npm run audit', { timeout: 120_000 }, () => {
  it('without DuckDB: tables as CSV, a report, and what was refused', async () => {
    const out = join(home, 'csv');
    const { code, told } = await audit(...paths(), '--change', '2024-07', '--out', out, '--without-duckdb');
    expect(code).toBe(1);
    expect(told).toMatch(/other\.json.*it is not a record of this app/);
    expect(told).toMatch(/altered\.json/);
    expect(told).toContain(`${COUNT + 1} records`);
    const names = readdirSync(join(out, 'tables')).sort();
    expect(names).toEqual(
      [...TABLE_NAMES.map((n) => `${n}.csv`), 'columns.csv', 'STAYS-IN-THE-DEPARTMENT.txt'].sort(),
    );
    const births = readFileSync(join(out, 'tables/births.csv'), 'utf8').trim().split('\n');
    expect(births).toHaveLength(COUNT + 2);
    expect(new Set(births.map((line) => line.slice(0, 18))).size).toBe(COUNT + 2);
    const html = readFileSync(join(out, 'report.html'), 'utf8');
    expect(html).toContain('2 files refused');
    expect(html).toContain('Truth against record');
    expect(html).not.toContain('Fewer than 5 drills whose truth');
  });

  it.skipIf(!duckDbHere)('with DuckDB: Parquet, and the very same report', async () => {
    const out = join(home, 'parquet');
    const { code, out: told } = await audit(...paths(), '--change', '2024-07', '--out', out);
    expect(code).toBe(1);
    expect(told.trim()).toBe(join(out, 'report.html'));
    expect(readdirSync(join(out, 'tables')).filter((n) => n.endsWith('.parquet'))).toHaveLength(5);
    for (const name of ['report.html', 'report.csv'])
      expect(readFileSync(join(out, name), 'utf8'), name).toBe(readFileSync(join(home, 'csv', name), 'utf8'));
  });

  it.skipIf(!duckDbHere)('no name, date or free text in anything that was written', async () => {
    const duck = await openDuckDb({ memory: '200MB', spill: home });
    const texts: string[] = [];
    for (const folder of ['csv', 'parquet']) {
      for (const file of filesOf(join(home, folder))) {
        expect(leaksIn(file.slice(home.length))).toEqual([]);
        const raw = readFileSync(file, 'latin1');
        // The day on which the report was made is its own.
        texts.push(raw.replace(/Made on \d{4}-\d{2}-\d{2}/g, ''));
        if (file.endsWith('.parquet')) {
          const rows = await duck.rows(`select * from read_parquet('${file}')`);
          expect(rows.length).toBeGreaterThan(0);
          texts.push(rows.map((row) => Object.values(row).join(' ')).join('\n'));
        }
      }
    }
    duck.close();
    expect(texts.length).toBeGreaterThan(15);
    expect(texts.flatMap(leaksIn)).toEqual([]);
  });

  it('the tables are for their owner alone, and other files in a folder are left alone', async () => {
    expect(statSync(join(home, 'csv/tables')).mode & 0o077).toBe(0);
    const taken = join(home, 'taken');
    mkdirSync(taken);
    writeFileSync(join(taken, 'letter.txt'), 'mine');
    const { code, told } = await audit(...paths(), '--out', taken);
    expect(code).toBe(2);
    expect(told).toMatch(/holds other files\. Nothing was written/);
    expect(readdirSync(taken)).toEqual(['letter.txt']);
  });

  it('keeps to the months asked for, and gives the same pseudonyms with the same key', async () => {
    const key = join(home, 'key');
    const csv = (name: string) =>
      readFileSync(join(home, name, 'tables/births.csv'), 'utf8')
        .trim()
        .split('\n')
        .slice(1);
    for (const name of ['keyed', 'keyed-again']) {
      const { told } = await audit(
        ...[join(home, 'two'), '--unit', 'South', '--since', '2024-01-15', '--until', '2024-12'],
        ...['--key', key, '--out', join(home, name), '--without-duckdb'],
      );
      expect(told).toMatch(name === 'keyed' ? /A new key was written/ : /records in/);
    }
    const months = csv('keyed').map((line) => /"(\d{4}-\d{2})"/.exec(line)![1]!);
    expect(months.length).toBeGreaterThan(3);
    expect(months.every((month) => month >= '2024-01' && month <= '2024-12')).toBe(true);
    expect(csv('keyed').sort()).toEqual(csv('keyed-again').sort());
    expect(statSync(key).mode & 0o077).toBe(0);
    const other = readFileSync(join(home, 'csv/tables/births.csv'), 'utf8');
    expect(csv('keyed').some((line) => other.includes(line.slice(1, 17)))).toBe(false);
  });

  it.each([
    [[], /Usage/],
    [['nowhere'], /nowhere cannot be read/],
    [['--unit', 'Dr. A; B', '.'], /cannot name a unit/],
  ])('%j is answered with a sentence', async (args, sentence) => {
    const { code, told } = await audit(...args);
    expect(code).toBe(2);
    expect(told).toMatch(sentence);
    expect(existsSync(join(ROOT, 'audit'))).toBe(false);
  });
});
