import { spawn } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { strToU8, zipSync } from 'fflate';
import { exportRecord } from '../core/record/export.ts';
import { TABLES } from '../audit/tables.ts';
import { openDuckDb } from '../cli/audit/duckdb.ts';
import { askDuckDb } from '../cli/audit/tables-out.ts';
import { inventedBirth } from './invented-births.ts';

/**
 * How the audit grows with the number of records: `npm run bench:audit -- 1000 10000 100000`. Invented records of
 * some 50 entries are written as ZIP files first (into .artefacts, kept for the next time) and not timed; then the
 * command is run as a department would. Prints time, memory of all its processes together, sizes, each question.
 */
const ROOT = join(import.meta.dirname, '../..');
const HOME = join(ROOT, '.artefacts/audit');
const A_ZIP = 500;
/** The tables of the last size are multiplied to this many records, for the questions alone. */
const MULTIPLIED_TO = 100_000;

function generate(count: number): string[] {
  const folder = join(HOME, 'records');
  mkdirSync(folder, { recursive: true });
  const zips: string[] = [];
  for (let from = 0; from < count; from += A_ZIP) {
    const path = join(folder, `${String(from).padStart(6, '0')}.zip`);
    zips.push(path);
    if (existsSync(path)) continue;
    const parts: Record<string, Uint8Array> = {};
    for (let index = from; index < from + A_ZIP; index++)
      parts[`${index}.json`] = strToU8(exportRecord(inventedBirth(index, { acts: 54 }).file));
    writeFileSync(`${path}.part`, zipSync(parts, { level: 3 }));
    renameSync(`${path}.part`, path);
  }
  return zips;
}

/** Memory of a process and all that it started, MB. */
function memoryMb(root: number): number {
  const parents = new Map<number, number>();
  const sizes = new Map<number, number>();
  for (const name of readdirSync('/proc')) {
    if (!/^\d+$/.test(name)) continue;
    try {
      const status = readFileSync(`/proc/${name}/status`, 'utf8');
      parents.set(Number(name), Number(/PPid:\s+(\d+)/.exec(status)?.[1]));
      sizes.set(Number(name), Number(/VmRSS:\s+(\d+)/.exec(status)?.[1] ?? 0));
    } catch {
      // It ended meanwhile.
    }
  }
  const within = (id: number): boolean => id === root || (parents.has(id) && within(parents.get(id)!));
  return [...sizes].reduce((sum, [id, kb]) => sum + (within(id) ? kb : 0), 0) / 1000;
}

interface Run {
  seconds: number;
  mostMb: number;
  told: string;
}

function audit(zips: readonly string[], out: string): Promise<Run> {
  rmSync(out, { recursive: true, force: true });
  return new Promise((resolve, reject) => {
    const fromMs = performance.now();
    const child = spawn(
      'npx',
      ['tsx', join(ROOT, 'src/cli/audit.ts'), ...zips, '--out', out, '--change', '2024-07'],
      {
        cwd: ROOT,
        env: { ...process.env, AUDIT_TIMES: '1' },
        stdio: ['ignore', 'ignore', 'pipe'],
      },
    );
    let told = '';
    let mostMb = 0;
    child.stderr.on('data', (chunk: Buffer) => (told += chunk.toString()));
    const watch = setInterval(() => (mostMb = Math.max(mostMb, memoryMb(child.pid!))), 500);
    child.on('error', reject);
    child.on('close', (code) => {
      clearInterval(watch);
      if (code === 0) resolve({ seconds: (performance.now() - fromMs) / 1000, mostMb, told });
      else reject(new Error(told));
    });
  });
}

/** Questions of tables that hold every record `times` over under other names: more records than were read. */
async function multiplied(tables: string, times: number, count: number): Promise<void> {
  const folder = join(HOME, `times-${times}`);
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  const duck = await openDuckDb({ memory: '1GB', spill: folder });
  let acts = 0;
  for (const { name, columns } of TABLES) {
    const listed = columns
      .map((c) => (c.name === 'record' ? "concat(record, '-', copy) as record" : c.name))
      .join(', ');
    const from = `read_parquet('${join(tables, name)}.parquet'), range(${times}) as copies(copy)`;
    await duck.run(
      `copy (select ${listed} from ${from}) to '${join(folder, name)}.parquet' (format parquet, compression zstd)`,
    );
    if (name === 'acts') acts = Number((await duck.rows(`select count(*) as n from ${from}`))[0]!['n']);
  }
  const asked: string[] = [];
  await askDuckDb(duck, folder, (name, ms) => asked.push(`${name} ${ms.toFixed(0)}`));
  duck.close();
  const mostMb = Number(/VmHWM:\s+(\d+)/.exec(readFileSync('/proc/self/status', 'utf8'))?.[1]) / 1000;
  console.log(
    `${times} times these tables: ${count * times} records, ${(acts / 1e6).toFixed(1)} million acts, ${mostMb.toFixed(0)} MB at most`,
  );
  console.log(`  questions, ms: ${asked.join(', ')}`);
}

const sizes = process.argv
  .slice(2)
  .filter((word) => /^\d+$/.test(word))
  .map(Number);
for (const count of sizes.length > 0 ? sizes : [1000]) {
  const zips = generate(count);
  if (process.argv.includes('--generate')) continue;
  const out = join(HOME, `out-${count}`);
  const { seconds, mostMb, told } = await audit(zips, out);
  const tables = join(out, 'tables');
  const bytes = readdirSync(tables)
    .filter((name) => name.endsWith('.parquet'))
    .map(
      (name) => `${name.replace('.parquet', '')} ${(statSync(join(tables, name)).size / 1e6).toFixed(1)} MB`,
    );
  const questions = [...told.matchAll(/^([a-z-]+): (\d+) ms$/gm)].map(([, name, ms]) => `${name} ${ms}`);
  console.log(`${count} records: ${seconds.toFixed(1)} s in all, ${mostMb.toFixed(0)} MB at most`);
  console.log(`  ${told.trim().split('\n').at(-1)}`);
  console.log(`  tables: ${bytes.join(', ')}`);
  console.log(`  questions, ms: ${questions.join(', ')}`);
  if (count === sizes.at(-1) && count < MULTIPLIED_TO)
    await multiplied(tables, Math.round(MULTIPLIED_TO / count), count);
}
