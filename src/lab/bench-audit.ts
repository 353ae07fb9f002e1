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
import { inventedBirth } from './invented-births.ts';

/**
 * How the audit grows with the number of records: `npm run bench:audit -- 1000 10000 100000`. Invented records of
 * some 50 entries are written as ZIP files first (into .artefacts, kept for the next time) and not timed; then the
 * command is run as a department would. Prints time, memory of all its processes together, sizes, each question.
 */
const ROOT = join(import.meta.dirname, '../..');
const HOME = join(ROOT, '.artefacts/audit');
const A_ZIP = 500;

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
}
