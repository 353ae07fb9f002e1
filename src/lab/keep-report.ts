import { spawn } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { cpus, loadavg, totalmem } from 'node:os';
import { join } from 'node:path';

/**
 * npm run report -- SCRIPT [ARGUMENTS] — runs a measuring script of package.json, shows what it prints and keeps
 * it as a dated page, tests/reports/SCRIPT.md, with the machine it ran on. Ends with the script's own exit status.
 */
const HOME = join(import.meta.dirname, '../..');
const FOLDER = join(HOME, 'tests/reports');

const [script, ...rest] = process.argv.slice(2);
if (script === undefined) {
  console.error('Usage: npm run report -- SCRIPT [ARGUMENTS], for instance: npm run report -- bench:record');
  process.exit(2);
}

const startedAt = new Date();
const child = spawn('npm', ['run', '-s', script, ...(rest.length > 0 ? ['--', ...rest] : [])], {
  cwd: HOME,
  stdio: ['ignore', 'pipe', 'inherit'],
});
let printed = '';
child.stdout.on('data', (chunk: Buffer) => {
  process.stdout.write(chunk);
  printed += chunk.toString();
});
child.on('close', (status) => {
  const minutes = (Date.now() - startedAt.getTime()) / 60_000;
  const memoryGb = Math.round(totalmem() / 2 ** 30);
  const page = [
    `# ${[script, ...rest].join(' ')}`,
    '',
    `Made by \`npm run report -- ${[script, ...rest].join(' ')}\` on ${startedAt.toISOString().slice(0, 10)}, ` +
      `in ${minutes.toFixed(1)} minutes, exit status ${status ?? 'none'}.`,
    `Machine: ${cpus().length} × ${cpus()[0]?.model ?? 'unknown processor'}, ${memoryGb} GB, Node ${process.version}; ` +
      `load average at the end ${loadavg()[0]!.toFixed(1)}.`,
    '',
    '```',
    printed.trimEnd(),
    '```',
    '',
  ].join('\n');
  mkdirSync(FOLDER, { recursive: true });
  writeFileSync(join(FOLDER, `${script.replaceAll(':', '-')}.md`), page);
  process.exit(status ?? 1);
});
