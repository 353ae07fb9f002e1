import { randomBytes } from 'node:crypto';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import Papa from 'papaparse';
import { isMonth, isUnitName, NO_UNIT } from '../audit/allowed.ts';
import type { Answers } from '../audit/answers.ts';
import { KEY_BYTES } from '../audit/pseudonym.ts';
import { answer } from '../audit/questions.ts';
import { reportCells, reportHtml } from '../audit/report-html.ts';
import { buildReport } from '../audit/report.ts';
import { truthOfDebrief, type Truth } from '../audit/truth.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';
import { bringDuckDb, openDuckDb } from './audit/duckdb.ts';
import { readFiles } from './audit/read-files.ts';
import { filesUnder, headSays, shortName, SourceError, type SourceFile } from './audit/sources.ts';
import { askDuckDb, holdsFormerAudit, writeColumns, writeCsv, writeParquet } from './audit/tables-out.ts';
import { refuse } from './files.ts';

const USAGE = `Usage: npm run audit -- DIR|FILES… [options]
Reads exported records (JSON, ZIP) and exported debriefs of drills, writes flat tables and a report.
  UNIT=PATH          the records under PATH come from this unit (a name of letters, digits, spaces, hyphens)
  --unit NAME        the unit of all paths without a name of their own
  --since 2026-01    first month; --until 2026-12: last month (a date counts as its month)
  --change 2026-06   first month after a change: the report compares before and after
  --out FOLDER       where tables and report are written (default: audit)
  --key FILE         key of the pseudonyms, made where it is missing; without it each run has a key of its own,
                     which is forgotten, so that the tables of two runs cannot be joined
  --without-duckdb   tables as CSV, figures worked out in memory`;

const say = (sentence: string) => process.stderr.write(`${sentence}\n`);

function options() {
  try {
    return parseArgs({
      allowPositionals: true,
      options: {
        since: { type: 'string' },
        until: { type: 'string' },
        change: { type: 'string' },
        unit: { type: 'string' },
        out: { type: 'string', default: 'audit' },
        key: { type: 'string' },
        'without-duckdb': { type: 'boolean', default: false },
      },
    });
  } catch (error) {
    return refuse(`${error instanceof Error ? error.message : String(error)}\n${USAGE}`);
  }
}

/** A month, or the month of a date. */
function month(name: string, given: string | undefined): string | undefined {
  if (given === undefined) return undefined;
  const found = /^(\d{4}-\d{2})(-\d{2})?$/.exec(given)?.[1];
  if (found === undefined || !isMonth(found))
    return refuse(`--${name} takes a month such as 2026-03, not "${given}". Nothing was written.`);
  return found;
}

/** UNIT=PATH, or a path: where a file of that very name is there, it is meant. */
function unitAndPath(given: string, otherwise: string): { unit: string; path: string } {
  const at = given.indexOf('=');
  if (at < 1 || existsSync(given)) return { unit: otherwise, path: given };
  return { unit: given.slice(0, at).trim(), path: given.slice(at + 1) };
}

function keyOf(file: string | undefined): Uint8Array {
  if (file === undefined) return randomBytes(KEY_BYTES);
  if (!existsSync(file)) {
    writeFileSync(file, `${randomBytes(KEY_BYTES).toString('hex')}\n`, { mode: 0o600, flag: 'wx' });
    say(
      `A new key was written to ${file}. Whoever has it and a record's id can find the record in the tables: keep it apart from them.`,
    );
  }
  const words = readFileSync(file, 'utf8').trim();
  if (!new RegExp(`^[0-9a-f]{${2 * KEY_BYTES},}$`).test(words))
    return refuse(`${file} holds no key (${2 * KEY_BYTES} hexadecimal digits). Nothing was written.`);
  return Buffer.from(words, 'hex');
}

function prepare(out: string): { tables: string; parts: string } {
  if (existsSync(out) && readdirSync(out).length > 0 && !holdsFormerAudit(out))
    return refuse(`The folder ${out} holds other files. Nothing was written. Name another with --out.`);
  const tables = join(out, 'tables');
  rmSync(tables, { recursive: true, force: true });
  mkdirSync(tables, { recursive: true, mode: 0o700 });
  return { tables, parts: mkdtempSync(join(tables, '.parts-')) };
}

/** A line that is written over on a screen, and every tenth of the way elsewhere. */
function progress(all: number): (done: number, records: number) => void {
  let told = 0;
  return (done, records) => {
    const line = `${done} of ${all} files read, ${records} records`;
    if (process.stderr.isTTY) process.stderr.write(`\r${line}${done === all ? '\n' : ''}`);
    else if (done === all || done >= told + all / 10) {
      told = done;
      say(line);
    }
  };
}

async function main(): Promise<void> {
  const { values, positionals } = options();
  if (positionals.length === 0) refuse(USAGE);
  const [since, until, change] = [
    month('since', values.since),
    month('until', values.until),
    month('change', values.change),
  ];
  const named = positionals.map((given) => unitAndPath(given, values.unit ?? NO_UNIT));
  const units = [...new Set(named.map(({ unit }) => unit))];
  const wrong = units.find((unit) => !isUnitName(unit));
  if (wrong !== undefined)
    refuse(
      `"${wrong}" cannot name a unit: letters, digits, spaces and hyphens, 40 at most. Nothing was written.`,
    );
  let files: SourceFile[] = [];
  try {
    files = named.flatMap(({ unit, path }) => filesUnder(path, unit));
  } catch (error) {
    if (error instanceof SourceError) refuse(error.message);
    throw error;
  }
  const truths = new Map<string, Truth>();
  const debriefs = files.filter(({ path }) => headSays(path, 'utterlog-practice-debrief'));
  for (const { path } of debriefs) {
    const found = readDebrief(path);
    if (found !== null) truths.set(found.recordId, found.truth);
  }
  const records = files.filter((file) => !debriefs.includes(file));
  if (records.length === 0)
    refuse(
      'No JSON or ZIP file was found there. Nothing was written. Export the records and name their folder.',
    );
  const key = keyOf(values.key);
  const out = resolve(values.out);
  const { tables, parts } = prepare(out);
  const clean = () => rmSync(parts, { recursive: true, force: true });
  process.once('SIGINT', () => {
    clean();
    say('\nStopped. No report was written; the records are as they were.');
    process.exit(130);
  });
  try {
    const fromMs = performance.now();
    const read = await readFiles(
      records,
      { folder: parts, key, units, since: since ?? null, until: until ?? null, truths },
      progress(records.length),
    );
    for (const { name, why } of read.refused.slice(0, 20)) say(`${shortName(process.cwd(), name)}: ${why}`);
    if (read.refused.length > 20) say(`… and ${read.refused.length - 20} more files like these.`);
    const answers = await tablesAndAnswers(values['without-duckdb'], parts, tables, read.olderCopies);
    writeColumns(tables);
    const report = buildReport(answers, {
      vocabulary: loadVocabulary(),
      madeOn: new Date().toISOString().slice(0, 10),
      since,
      until,
      change,
      source:
        units.length === 1 && units[0] === NO_UNIT
          ? 'exported records'
          : `exported records of ${units.length} ${units.length === 1 ? 'unit' : 'units'}`,
      leftOut: leftOut(read),
    });
    writeFileSync(join(out, 'report.html'), reportHtml(report));
    writeFileSync(
      join(out, 'report.csv'),
      `\uFEFF${Papa.unparse(reportCells(report), { newline: '\r\n', escapeFormulae: true })}\r\n`,
    );
    say(`${read.records} records in ${((performance.now() - fromMs) / 1000).toFixed(1)} s.`);
    process.stdout.write(`${join(out, 'report.html')}\n`);
    if (read.refused.length > 0) process.exitCode = 1;
  } finally {
    clean();
  }
}

function readDebrief(path: string): ReturnType<typeof truthOfDebrief> {
  let found: ReturnType<typeof truthOfDebrief> = null;
  try {
    found = truthOfDebrief(JSON.parse(readFileSync(path, 'utf8')));
  } catch {
    // Told below, as for a debrief with something wrong in it.
  }
  if (found === null)
    say(`${shortName(process.cwd(), path)}: this debrief was not used: it is damaged or empty.`);
  return found;
}

function leftOut({ refused, olderCopies, outside }: Awaited<ReturnType<typeof readFiles>>): string[] {
  const files = (n: number) => (n === 1 ? '1 file' : `${n} files`);
  return [
    ...(refused.length > 0 ? [`${files(refused.length)} refused: damaged, altered or no record.`] : []),
    ...(olderCopies.length > 0 ? ['Of records that came twice the older copy was left out.'] : []),
    ...(outside > 0 ? ['Records of other months were left out, as asked.'] : []),
  ];
}

async function tablesAndAnswers(
  without: boolean,
  parts: string,
  tables: string,
  olderCopies: readonly number[],
): Promise<Answers> {
  if (!without) {
    try {
      await bringDuckDb(say);
    } catch (error) {
      say(
        `DuckDB cannot be had here (${error instanceof Error ? error.message : String(error)}). The tables are written as CSV, and the figures are worked out in memory; they are the same.`,
      );
      without = true;
    }
  }
  if (without) return answer(await writeCsv(parts, tables, olderCopies));
  const duck = await openDuckDb({ memory: '1GB', spill: parts });
  try {
    await writeParquet(duck, parts, tables, olderCopies);
    return await askDuckDb(duck, tables, (name, ms) => {
      if (process.env['AUDIT_TIMES'] !== undefined) say(`${name}: ${ms.toFixed(0)} ms`);
    });
  } finally {
    duck.close();
  }
}

await main();
