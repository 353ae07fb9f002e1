import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ensureBrowser, ensureData, ensureFirefox, ensureProgram } from './tools.ts';

/**
 * `npm test`: everything, in the order in which it fails fastest, and a closing line with the counts.
 * Each tool check counts as one; the test files count each test.
 */
const ROOT = join(import.meta.dirname, '..');
const REPORTS = join(ROOT, '.cache/test-reports');
let passed = 0;
let failed = 0;
let skipped = 0;

function npx(args: string[], env: NodeJS.ProcessEnv = {}): number {
  return (
    spawnSync('npx', ['--no-install', ...args], {
      cwd: ROOT,
      stdio: 'inherit',
      env: { ...process.env, ...env },
    }).status ?? 1
  );
}

function check(title: string, args: string[]): void {
  console.log(`\n== ${title}`);
  if (npx(args) === 0) passed++;
  else {
    failed++;
    console.log(`FAILED: ${title}`);
  }
}

function tests(project: string): void {
  console.log(`\n== Tests: ${project}`);
  const report = join(REPORTS, `${project}.json`);
  const status = npx(
    [
      'vitest',
      'run',
      '--project',
      project,
      '--reporter',
      'default',
      '--reporter',
      'json',
      `--outputFile.json=${report}`,
    ],
    { UTTERLOG_BUILT: '1' },
  );
  if (!existsSync(report)) {
    failed++;
    return;
  }
  const counts = JSON.parse(readFileSync(report, 'utf8')) as Record<string, number>;
  passed += counts.numPassedTests ?? 0;
  failed += counts.numFailedTests ?? 0;
  skipped += (counts.numPendingTests ?? 0) + (counts.numTodoTests ?? 0);
  // A file that does not load has no tests to fail: its run must not pass for green.
  if (status !== 0 && !counts.numFailedTests) failed++;
}

mkdirSync(REPORTS, { recursive: true });
console.log(`Browser: ${ensureBrowser()}`);
const extras: [string, string | null][] = [
  ['Firefox (the main path in a second browser)', ensureFirefox()],
  ['espeak-ng (recordings made at test time)', ensureProgram('espeak-ng')],
  [
    'real speech: telephone prompts',
    ensureData('/usr/share/asterisk/sounds/en_US_f_Allison', 'asterisk-core-sounds-en-wav'),
  ],
  ['real speech: recogniser test data', ensureData('/usr/share/pocketsphinx/test', 'pocketsphinx-testdata')],
];
for (const [what, where] of extras) {
  console.log(
    where ? `Found ${what}` : `Not to be had on this machine: ${what}; its tests are skipped and counted.`,
  );
}

check('Format', ['prettier', '--check', '--log-level', 'warn', '.']);
check('Types', ['tsc', '--noEmit']);
check('Components', [
  'svelte-check',
  '--tsconfig',
  './tsconfig.json',
  '--fail-on-warnings',
  '--output',
  'human',
]);
check('Arrows between the parts', ['depcruise', 'src', 'models', '--config', '.dependency-cruiser.cjs']);
check('Lint', ['eslint', '--config', '.eslint.config.js', 'src', 'tests', 'models', 'vite.config.ts']);
check('Nothing unused', ['knip', '--config', '.knip.json', '--no-config-hints']);
check('Build', ['vite', 'build', '--logLevel', 'warn']);
check('Size of the app', ['tsx', 'tests/budget.ts']);
tests('unit');
tests('speech');
tests('browser');

console.log(`\n${passed} passed, ${failed} failed${skipped ? `, ${skipped} skipped` : ''}`);
process.exit(failed ? 1 : 0);
