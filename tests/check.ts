import { spawn } from 'node:child_process';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';

/**
 * `npm run check`: what to run many times a day, in under a minute on two quiet cores. Format, types, components,
 * arrows, lint and unused code of everything; the unit tests that the changed files can reach. `npm test` runs all.
 */
const ROOT = join(import.meta.dirname, '..');
const CACHE = '.cache';
const STEPS: { title: string; args: string[] }[] = [
  {
    title: 'Lint',
    args: [
      'eslint',
      '--config',
      '.eslint.config.js',
      '--cache',
      '--cache-location',
      `${CACHE}/eslint/`,
      'src',
      'tests',
      'models',
      'vite.config.ts',
    ],
  },
  { title: 'Unit tests of what changed', args: ['vitest', 'run', '--project', 'unit', '--changed', 'HEAD'] },
  {
    title: 'Components',
    args: ['svelte-check', '--tsconfig', './tsconfig.json', '--fail-on-warnings', '--output', 'human'],
  },
  {
    title: 'Types',
    args: ['tsc', '--noEmit', '--incremental', '--tsBuildInfoFile', `${CACHE}/types.tsbuildinfo`],
  },
  {
    title: 'Format',
    args: [
      'prettier',
      '--check',
      '--log-level',
      'warn',
      '--cache',
      '--cache-location',
      `${CACHE}/prettier`,
      '.',
    ],
  },
  {
    title: 'Arrows between the parts',
    args: ['depcruise', 'src', 'models', '--config', '.dependency-cruiser.cjs'],
  },
  { title: 'Nothing unused', args: ['knip', '--config', '.knip.json', '--no-config-hints'] },
];

const failed: string[] = [];

/** Output is held back until the step ends, so that two steps at once stay readable. */
function run({ title, args }: (typeof STEPS)[number]): Promise<void> {
  const startedMs = performance.now();
  return new Promise((done) => {
    const child = spawn('npx', ['--no-install', ...args], { cwd: ROOT });
    let output = '';
    child.stdout.on('data', (text) => (output += text));
    child.stderr.on('data', (text) => (output += text));
    child.on('close', (status) => {
      const seconds = ((performance.now() - startedMs) / 1000).toFixed(1);
      console.log(`${status === 0 ? 'ok    ' : 'FAILED'} ${title} (${seconds} s)`);
      if (status !== 0) {
        failed.push(title);
        console.log(output);
      }
      done();
    });
  });
}

const waiting = [...STEPS];
async function lane(): Promise<void> {
  for (let step = waiting.shift(); step !== undefined; step = waiting.shift()) await run(step);
}

const startedMs = performance.now();
await Promise.all(Array.from({ length: Math.min(2, availableParallelism()) }, lane));
const seconds = Math.round((performance.now() - startedMs) / 1000);
console.log(`\n${STEPS.length - failed.length} passed, ${failed.length} failed, ${seconds} s`);
process.exit(failed.length ? 1 : 0);
